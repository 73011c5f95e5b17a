"""Which recogniser hears a session: the best that this machine has, or the one that was asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from rapidfuzz import fuzz, process

from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.likelihood import model_files
from voice_trainer.recognition.ports import Recogniser
from voice_trainer.recognition.vosk_folder import english_models, models_in, why_not_usable

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
        Engine("likelihood", _missing("onnxruntime") or model_files.why_not_there()),
        Engine(
            "vosk",
            _missing("vosk") or ("" if english_models(models_folders) else "no English model installed"),
        ),
        Engine("pocketsphinx", _missing("pocketsphinx")),
    )


def choose_recogniser(
    name: str = "auto",
    models_folders: Iterable[Path] = (),
    recorded_hash: Callable[[Path], str | None] = lambda folder: None,
) -> Recogniser:
    """The recogniser called `name`: auto, likelihood, pocketsphinx, vosk, vosk:NAME or vosk:FOLDER.

    NAME is a model's folder below one of `models_folders`. `recorded_hash` says of a model's folder what content
    it was installed with, None where that is not known; a model that has changed is not loaded. 'auto' is the
    best that can be loaded; one that is there but can't be loaded gives way to the next. Raises RecogniserError
    for a name that is none, and for an engine that can't be used.
    """
    folders = tuple(models_folders)
    if name != "auto":
        check_engine(name, folders)
        return _loaded(name, folders, recorded_hash)
    refusals: list[RecogniserError] = []
    for each in engines(folders):
        if each.usable:
            try:
                return _loaded(each.name, folders, recorded_hash)
            except RecogniserError as error:
                refusals.append(error)
    if refusals:
        raise refusals[-1]
    raise RecogniserError("there is no recogniser: run scripts/run again, which installs them")


def check_engine(name: str, models_folders: Iterable[Path] = ()) -> None:
    """Find out at once, without loading a model, that `name` can't be had here.

    Raises RecogniserError, for a slip with the name that was meant.
    """
    if name == "auto":
        return
    engine, colon, model = name.partition(":")
    if engine not in NAMES or (colon and (engine != "vosk" or not model)):
        likely = process.extractOne(engine.lower(), NAMES, scorer=fuzz.ratio, score_cutoff=60)
        known = f"there are auto, {', '.join(NAMES)}, vosk:NAME, vosk:FOLDER"
        advice = f"did you mean '{likely[0]}'?" if likely and engine not in NAMES else known
        raise RecogniserError(f"there is no recogniser {name!r}; {advice}")
    folders = tuple(models_folders)
    if engine == "vosk":
        if trouble := why_not_usable(_vosk_folder(model, folders)):
            raise RecogniserError(trouble)
    elif reason := next(each.reason for each in engines(folders) if each.name == engine):
        raise RecogniserError(f"{engine}: {reason}; leave --engine out, or run scripts/run again")


def _loaded(name: str, folders: tuple[Path, ...], recorded_hash: Callable[[Path], str | None]) -> Recogniser:
    engine, _, model = name.partition(":")
    match engine:
        case "likelihood":
            from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser

            return LikelihoodRecogniser()
        case "pocketsphinx":
            from voice_trainer.recognition.pocketsphinx_engine import PocketsphinxRecogniser

            return PocketsphinxRecogniser()
        case "vosk":
            from voice_trainer.recognition.vosk_engine import VoskRecogniser

            folder = _vosk_folder(model, folders)
            return VoskRecogniser(folder, recorded_hash=recorded_hash(folder))
        case _:
            raise AssertionError(f"{name!r} passed check_engine")


def _vosk_folder(model: str, folders: tuple[Path, ...]) -> Path:
    """The model of that name or in that folder; for '' the first for English."""
    if model:
        return next((path for path in models_in(folders) if path.name == model), Path(model))
    models = english_models(folders)
    if not models:
        raise RecogniserError("vosk has no English model: 'voice-trainer models' says how to get one")
    return models[0]


def _missing(*packages: str) -> str:
    absent = [package for package in packages if find_spec(package) is None]
    return f"{', '.join(absent)} not installed" if absent else ""
