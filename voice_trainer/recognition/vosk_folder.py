"""What a Vosk model is on disk: its files, its fingerprint, and where models for English are. Loads none."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from pathlib import Path

MODEL_FILES = ("am/final.mdl", "conf/model.conf", "graph/HCLr.fst", "graph/Gr.fst")
"""What a model whose grammar can change holds; without the last two the grammar would be ignored in silence."""

_ENGLISH = re.compile(r"(?:^|-)en(?:-|$)")


def missing_file(model_folder: Path) -> str | None:
    """The first of MODEL_FILES that is not in `model_folder`, None where all are there."""
    return next((name for name in MODEL_FILES if not (model_folder / name).is_file()), None)


def why_not_usable(model_folder: Path) -> str:
    """Why a folder holds no Vosk model that can be used, and what to do, in a line; '' where it holds one."""
    if not model_folder.is_dir():
        return f"{model_folder}: no such model; 'voice-trainer models' lists those that are there"
    absent = missing_file(model_folder)
    if absent is None:
        return ""
    return f"{model_folder} is no Vosk model that can be used: {absent} is missing; unpack a small Vosk model there"


def content_hash(model_folder: Path) -> str:
    """SHA-256 over all the files in a folder, by name: 64 hexadecimal digits. Raises OSError."""
    digest = hashlib.sha256()
    for file in sorted(path for path in model_folder.rglob("*") if path.is_file()):
        digest.update(file.relative_to(model_folder).as_posix().encode() + b"\0")
        with file.open("rb") as content:
            while piece := content.read(1 << 20):
                digest.update(piece)
    return digest.hexdigest()


def is_english(model_name: str) -> bool:
    """Whether a model says by its name that it is for English, as the publisher's do ('vosk-model-en-us-...')."""
    return bool(_ENGLISH.search(model_name))


def models_in(models_folders: Iterable[Path]) -> tuple[Path, ...]:
    """The folders below `models_folders` that are Vosk models, by name. A name with a dot first is no model's."""
    return tuple(
        path
        for folder in models_folders
        if folder.is_dir()
        for path in sorted(folder.iterdir())
        if not path.name.startswith(".") and missing_file(path) is None
    )


def english_models(models_folders: Iterable[Path]) -> tuple[Path, ...]:
    """Those of `models_in` that are for English."""
    return tuple(path for path in models_in(models_folders) if is_english(path.name))
