"""Where the speech model's files are, and whether they are the right ones. Loads none of them.

In a checkout the folder is `models/phraseology-en`; in an installed package it lies beside this module.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from voice_trainer.recognition.errors import RecogniserError

NAME = "phraseology-en"
FILES = ("encoder_model.onnx", "decoder_model_merged.onnx", "tokenizer.bin")
DESCRIPTION = "model.json"
"""What the model is, and the SHA-256 of each of its files."""

_HERE = Path(__file__).resolve().parent
PLACES = (_HERE / NAME, _HERE.parents[2] / "models" / NAME)

_WHAT_TO_DO = "get the checkout or the package again"


def model_folder(places: tuple[Path, ...] = PLACES) -> Path:
    """The first of `places` that is there; raises RecogniserError when none is."""
    for folder in places:
        if folder.is_dir():
            return folder
    raise RecogniserError(f"the speech model's folder {places[-1]} is missing: {_WHAT_TO_DO}")


def why_not_there(places: tuple[Path, ...] = PLACES) -> str:
    """Which file of the model is missing, and what to do, in a line; '' where all are there. Reads none."""
    try:
        folder = model_folder(places)
    except RecogniserError as error:
        return str(error)
    absent = next((name for name in (DESCRIPTION, *FILES) if not (folder / name).is_file()), None)
    return f"{folder / absent} is missing: {_WHAT_TO_DO}" if absent else ""


def checked(folder: Path) -> Path:
    """`folder`, when each of the model's files is there and has the SHA-256 that the description says.

    Raises RecogniserError, which names the file and says what to do.
    """
    checked_hash(folder)
    return folder


def checked_hash(folder: Path) -> str:
    """SHA-256 over the model's three files, in the order of `FILES`, each of which was checked as `checked` does."""
    if trouble := why_not_there((folder,)):
        raise RecogniserError(trouble)
    expected = _expected_hashes(folder / DESCRIPTION)
    together = hashlib.sha256()
    for name in FILES:
        data = _read(folder / name)
        if hashlib.sha256(data).hexdigest() != expected.get(name):
            raise RecogniserError(
                f"{folder / name} is not the file that {DESCRIPTION} describes: {_WHAT_TO_DO}"
            )
        together.update(data)
    return together.hexdigest()


def _expected_hashes(description: Path) -> dict[str, str]:
    try:
        files = json.loads(description.read_text(encoding="utf-8"))["files"]
        return {str(name): str(sha256) for name, sha256 in files.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise RecogniserError(f"{description} describes no model: {_WHAT_TO_DO}") from error


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise RecogniserError(f"{path} can't be read ({error.strerror}): {_WHAT_TO_DO}") from error
