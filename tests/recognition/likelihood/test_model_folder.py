"""The speech model's folder: found, whole and with the files that it describes, or one line says what to do."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.likelihood.model_files import (
    DESCRIPTION,
    FILES,
    NAME,
    PLACES,
    checked,
    model_folder,
    why_not_there,
)

AGAIN = "get the checkout or the package again$"


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    return Path(shutil.copytree(model_folder(), tmp_path / NAME))


def test_the_model_of_the_checkout_is_found_and_right() -> None:
    folder = model_folder()
    assert folder == Path(__file__).parents[3] / "models" / NAME
    assert checked(folder) == folder
    assert why_not_there() == ""


def test_a_model_beside_the_code_is_taken_before_that_of_a_checkout(copy: Path) -> None:
    assert model_folder((copy, PLACES[-1])) == copy
    assert model_folder((copy / "none", PLACES[-1])) == PLACES[-1]
    assert PLACES[0].parent.name == "likelihood"


def test_no_folder(tmp_path: Path) -> None:
    with pytest.raises(RecogniserError, match=f"{NAME} is missing: {AGAIN}"):
        model_folder((tmp_path / "package" / NAME, tmp_path / "checkout" / NAME))


@pytest.mark.parametrize("name", [DESCRIPTION, *FILES])
def test_a_missing_file_is_named(copy: Path, name: str) -> None:
    (copy / name).unlink()
    with pytest.raises(RecogniserError, match=f"{name} is missing: {AGAIN}") as refusal:
        checked(copy)
    assert why_not_there((copy,)) == str(refusal.value)


@pytest.mark.parametrize("name", FILES)
def test_a_changed_file_is_named(copy: Path, name: str) -> None:
    data = bytearray((copy / name).read_bytes())
    data[len(data) // 2] ^= 1
    (copy / name).write_bytes(data)
    with pytest.raises(
        RecogniserError, match=f"{name} is not the file that {DESCRIPTION} describes: {AGAIN}"
    ):
        checked(copy)


def test_a_file_of_which_nothing_is_said_is_not_trusted(copy: Path) -> None:
    (copy / DESCRIPTION).write_text('{"files": {}}', encoding="utf-8")
    with pytest.raises(RecogniserError, match=f"{FILES[0]} is not the file"):
        checked(copy)


@pytest.mark.parametrize("text", [b"", b"[]", b"{}", b'{"files": 3}', b"\xff"])
def test_a_description_that_is_none(copy: Path, text: bytes) -> None:
    (copy / DESCRIPTION).write_bytes(text)
    with pytest.raises(RecogniserError, match=f"{DESCRIPTION} describes no model: {AGAIN}"):
        checked(copy)
