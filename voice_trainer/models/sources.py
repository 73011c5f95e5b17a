"""What a model is installed from: a folder or an archive that holds a Vosk model, wherever in it."""

from __future__ import annotations

from pathlib import Path

from voice_trainer.models.errors import SourceError, as_of_models
from voice_trainer.recognition.vosk_folder import MODEL_FILES
from voice_trainer.unpacking.sources import Parts, Source, below, open_source
from voice_trainer.unpacking.terms import Terms

MOST_BYTES = 2_000_000_000
"""Unpacked. The largest small model that we have seen has 264 MB; the program has to hold it in memory."""

TERMS = Terms(
    thing="model",
    advice="get the model from its publisher",
    most_files=1_000,  # a small model has a dozen files, a large one some dozens
    most_depth=20,
    most_bytes=MOST_BYTES,
    most_packed_bytes=MOST_BYTES,
    # Real models unpack to one and a half times their archive or two, short configuration files to more.
    most_times_packed=20,
    free_of_ratio_bytes=10_000_000,
)


def source_at(path: Path) -> Source:
    """The model in a folder or in a ZIP archive. Raises ModelError where it is none, or not to be trusted."""
    with as_of_models():
        source = open_source(path, TERMS)
    return below(source, _model_root(path, [file.parts for file in source.files]))


def _model_root(path: Path, places: list[Parts]) -> Parts:
    """The folder inside the source that is the model: the source itself, or a folder in it."""
    first = tuple(MODEL_FILES[0].split("/"))
    roots = [parts[: -len(first)] for parts in places if parts[-len(first) :] == first]
    if not roots:
        raise _no_model(path, MODEL_FILES[0])
    if len(roots) > 1:
        raise SourceError(f"{path}: it holds {len(roots)} models; install each by itself")
    present = set(places)
    for name in MODEL_FILES:
        if (*roots[0], *name.split("/")) not in present:
            raise _no_model(path, name)
    return roots[0]


def _no_model(path: Path, missing: str) -> SourceError:
    return SourceError(
        f"{path}: no Vosk model that can be used: {missing} is missing; a small Vosk model is needed, whose "
        "grammar can change (see models/README.md)"
    )
