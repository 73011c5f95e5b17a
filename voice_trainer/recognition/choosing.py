"""Which recogniser hears a session: the best that this machine has, or the one that was asked for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from voice_trainer.recognition.ports import Recogniser, RecogniserError

NAMES = ("likelihood", "pocketsphinx", "vosk")


@dataclass(frozen=True, slots=True)
class Engine:
    """An engine that the program knows; `reason` says why it can't be used, '' where it can."""

    name: str
    reason: str = ""

    @property
    def usable(self) -> bool:
        """Whether it can be used here."""
        return not self.reason


def engines(models_folders: Iterable[Path] = ()) -> tuple[Engine, ...]:
    """The engines, the best first, and whether each is there. Loads no model."""
    return (
        Engine("likelihood", _missing("onnxruntime", "moonshine_voice")),
        Engine(
            "vosk", _missing("vosk") or ("" if vosk_models(models_folders) else "no English model in models/")
        ),
        Engine("pocketsphinx", _missing("pocketsphinx")),
    )


def choose_recogniser(name: str = "auto", models_folders: Iterable[Path] = ()) -> Recogniser:
    """The recogniser called `name`: auto, likelihood, pocketsphinx, vosk, or vosk:FOLDER.

    'auto' is the best that can be loaded; one that is there but can't be loaded gives way to the next. Raises
    RecogniserError for a name that is none, and for an engine that can't be used.
    """
    folders = tuple(models_folders)
    if name != "auto":
        return _loaded(name, folders)
    refusals: list[RecogniserError] = []
    for each in engines(folders):
        if each.usable:
            try:
                return _loaded(each.name, folders)
            except RecogniserError as error:
                refusals.append(error)
    if refusals:
        raise refusals[-1]
    raise RecogniserError("there is no recogniser: run scripts/run again, which installs them")


def _loaded(name: str, folders: tuple[Path, ...]) -> Recogniser:
    engine, _, folder = name.partition(":")
    match engine:
        case "likelihood":
            from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser

            return LikelihoodRecogniser()
        case "pocketsphinx":
            from voice_trainer.recognition.pocketsphinx_engine import PocketsphinxRecogniser

            return PocketsphinxRecogniser()
        case "vosk":
            from voice_trainer.recognition.vosk_engine import VoskRecogniser

            models = (Path(folder),) if folder else vosk_models(folders)
            if not models:
                raise RecogniserError("vosk has no English model: put one in models/ (see models/README.md)")
            return VoskRecogniser(models[0])
        case _:
            raise RecogniserError(
                f"there is no recogniser '{name}'; there are auto, {', '.join(NAMES)}, vosk:FOLDER"
            )


def vosk_models(models_folders: Iterable[Path]) -> tuple[Path, ...]:
    """The folders below `models_folders` that look like English Vosk models."""
    return tuple(
        path
        for folder in models_folders
        if folder.is_dir()
        for path in sorted(folder.iterdir())
        if (path / "am" / "final.mdl").is_file() and "-en" in path.name
    )


def _missing(*packages: str) -> str:
    absent = [package for package in packages if find_spec(package) is None]
    return f"{', '.join(absent)} not installed" if absent else ""
