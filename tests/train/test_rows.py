from __future__ import annotations

import gzip
import json
from pathlib import Path

import pytest

from scripts.train.rows import Line, Row, read_lines, read_rows, row_of, spoken_aloud, write_rows
from voice_trainer.recognition.likelihood.tokeniser import Tokeniser

PIECES = (
    *(b"" for _ in range(259)),
    *(c.encode() for c in "▁abcdefghijklmnopqrstuvwxyz"),
    "▁s".encode(),
    b"ix",
    "▁six".encode(),
)


def _lines(path: Path, *lines: dict[str, str]) -> Path:
    with gzip.open(path, "wt", encoding="utf-8") as file:
        file.writelines(json.dumps(line) + "\n" for line in lines)
    return path


def test_each_word_is_tokens_by_itself() -> None:
    tokeniser = Tokeniser(PIECES)
    row = row_of(Line("uh six six", "six six", "call"), tokeniser)
    assert row.tokens == tokeniser.encode("▁six") * 2
    assert tokeniser.decode(row.tokens) == "six six"


def test_nothing_to_write_is_no_token() -> None:
    assert row_of(Line("", "", "noise"), Tokeniser(PIECES)).tokens == ()


def test_rows_come_back_as_they_were_written(tmp_path: Path) -> None:
    rows = [Row("uh six", (286,), "call"), Row("", (), "noise")]
    write_rows(rows, tmp_path / "deep" / "rows.json.gz")
    assert read_rows(tmp_path / "deep" / "rows.json.gz") == rows


def test_a_target_in_figures_or_capitals_is_refused(tmp_path: Path) -> None:
    path = _lines(
        tmp_path / "lines.jsonl.gz",
        {"spoken": "six", "written": "six", "kind": "call"},
        {"spoken": "six", "written": "6", "kind": "call"},
    )
    with pytest.raises(ValueError, match="line 2: '6'"):
        list(read_lines(path))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("dunmar v o r one one seven", "dunmar V O R one one seven"),
        ("a turn and i wait", "a turn and i wait"),
        ("i a f", "I A F"),
        ("expect at fifteen nineteen utc", "expect at fifteen nineteen U T C"),
    ],
)
def test_letters_in_a_row_are_said_as_letters(text: str, said: str) -> None:
    assert spoken_aloud(text) == said
