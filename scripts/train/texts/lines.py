"""A line of the training texts, and the packed files that hold them: one JSON object a line, gzip."""

from __future__ import annotations

import gzip
import io
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

LINES_FILE = "lines.jsonl.gz"
DEVELOPMENT_FILE = "development.jsonl.gz"

LINES = 250_000
"""How many there are, about, unless somebody says otherwise."""

KINDS = (
    "english", "talk", "words", "call", "illegal", "breath", "correction", "disturbed", "twin", "own words",
    "order", "string", "short", "name", "checklist",
)  # fmt: skip
"""What lines there are; `mixture.py` says how many of each."""

GENERAL_ENGLISH = frozenset({"english", "talk", "words"})
"""The kinds that are about no flight: at least a third of all lines."""


@dataclass(frozen=True, slots=True)
class Line:
    """What a voice says, hesitations and all, and what is to be written of it in canonical words."""

    spoken: str
    written: str
    kind: str


def write_lines(file: Path, lines: Iterable[Line]) -> None:
    """Whole or not at all; the same lines are the same bytes."""
    part = file.with_name(f"{file.name}.part")
    # No name and no time go into the file: they would make it another one every time.
    with (
        part.open("wb") as raw,
        gzip.GzipFile(filename="", mode="wb", fileobj=raw, mtime=0) as packed,
        io.TextIOWrapper(packed, encoding="utf-8", newline="\n") as text,
    ):
        for line in lines:
            entry = {"spoken": line.spoken, "written": line.written, "kind": line.kind}
            text.write(json.dumps(entry, separators=(",", ":")) + "\n")
    part.replace(file)


def read_lines(file: Path) -> Iterator[Line]:
    """The lines of a packed file, in its order."""
    with gzip.open(file, "rt", encoding="utf-8") as text:
        for entry in text:
            yield Line(**json.loads(entry))
