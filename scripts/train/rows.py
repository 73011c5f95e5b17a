"""What is to be said and what is to be written: lines of text, and rows of them with the model's tokens.

A line is what `texts` writes: what the voice says, what the model is to write, and of what kind it is. A row is a line
on its way to the machine that trains: the written text as token numbers, so that nothing there needs the tokeniser.
"""

from __future__ import annotations

import gzip
import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from voice_trainer.recognition.likelihood.tokeniser import Tokeniser

WORD_START = "▁"

_LETTERS = re.compile(r"\b[a-z](?: [a-z])+\b")


@dataclass(frozen=True)
class Line:
    """One sentence."""

    spoken: str
    written: str
    kind: str


@dataclass(frozen=True)
class Row:
    """A line as it travels."""

    spoken: str
    tokens: tuple[int, ...]
    kind: str


def read_lines(path: Path) -> Iterator[Line]:
    """Lines of a packed file, a JSON object a line."""
    with gzip.open(path, "rt", encoding="utf-8") as file:
        for number, text in enumerate(file, 1):
            line = Line(**json.loads(text))
            if not re.fullmatch(r"[a-z' -]*", line.written):
                raise ValueError(f"{path}, line {number}: '{line.written}' is not in plain small letters")
            yield line


def row_of(line: Line, tokeniser: Tokeniser) -> Row:
    """A line with its tokens: each word by itself, as the engine writes it."""
    tokens = tuple(token for word in line.written.split() for token in tokeniser.encode(WORD_START + word))
    return Row(line.spoken, tokens, line.kind)


def write_rows(rows: Iterable[Row], path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with gzip.open(path, "wt", encoding="utf-8") as file:
        json.dump([[row.spoken, list(row.tokens), row.kind] for row in rows], file, separators=(",", ":"))


def read_rows(path: Path) -> list[Row]:
    with gzip.open(path, "rt", encoding="utf-8") as file:
        return [Row(spoken, tuple(tokens), kind) for spoken, tokens, kind in json.load(file)]


def spoken_aloud(text: str) -> str:
    """What a voice is given: several letters in a row are capitals, or 'a' would be the article."""
    return _LETTERS.sub(lambda letters: letters.group().upper(), text).replace("utc", "U T C")
