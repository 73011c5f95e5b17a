"""Where everything in a file was written, down to a character inside a quoted or folded text."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

Path = tuple[str | int, ...]
"""Where a value is: keys of mappings and indexes of lists, from the top of the document."""

_UNIT = re.compile(r"\\x[0-9a-fA-F]{2}|\\u[0-9a-fA-F]{4}|\\U[0-9a-fA-F]{8}|\\\r\n|\\.|''|.", re.DOTALL)
_INVISIBLE_ESCAPES = frozenset({"\\n", "\\r", "\\t", "\\ ", "\\_", "\\N", "\\L", "\\P", "\\v", "\\f"})


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in a file; line and column count from 1."""

    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Scalar:
    """Where a scalar stands in the source, as offsets into it, and how it is quoted ('' where it is not)."""

    start: int
    end: int
    style: str
    text: str


@dataclass(slots=True)
class Marks:
    """Where every key and every value of a document was written."""

    source: str
    _values: dict[Path, Mark] = field(default_factory=dict)
    _keys: dict[Path, Mark] = field(default_factory=dict)
    _scalars: dict[Path, Scalar] = field(default_factory=dict)

    def note_key(self, path: Path, mark: Mark) -> None:
        """The key that ends `path` begins at `mark`."""
        self._keys[path] = mark

    def note_value(self, path: Path, mark: Mark) -> None:
        """The value at `path` begins at `mark`."""
        self._values[path] = mark

    def note_scalar(self, path: Path, scalar: Scalar) -> None:
        """The value at `path` is a scalar."""
        self._scalars[path] = scalar

    def value(self, path: Path) -> Mark:
        """Where the value at `path` begins; of a path that is not there, the nearest thing above it."""
        while path and path not in self._values:
            path = path[:-1]
        return self._values.get(path, Mark(1, 1))

    def key(self, path: Path) -> Mark:
        """Where the key that ends `path` begins; of an item of a list, where the item begins."""
        return self._keys.get(path) or self.value(path)

    def written(self, path: Path) -> str | None:
        """The text of the scalar at `path` before it became a number or the like; None if it is not one."""
        scalar = self._scalars.get(path)
        return scalar.text if scalar else None

    def scalars(self) -> Iterator[tuple[Path, str]]:
        """Every scalar value with its text, in the order of the file."""
        for path, scalar in self._scalars.items():
            yield path, scalar.text

    def inside(self, path: Path, offset: int) -> Mark:
        """Where character `offset` (from 0) of the text at `path` stands in the file.

        Quotes, escapes, folded lines and indentation are seen through: blanks apart, the characters of the
        source are those of the text, in the same order, so it is enough to count the visible ones.
        """
        scalar = self._scalars.get(path)
        if scalar is None:
            return self.value(path)
        before = sum(not c.isspace() for c in scalar.text[:offset])
        at_visible = offset < len(scalar.text) and not scalar.text[offset].isspace()
        last = scalar.start
        for start, end in _visible_units(self.source, scalar):
            if at_visible and before == 0:
                return self.at(start)
            if not at_visible and before == 0:
                break
            before, last = before - 1, end
        return self.at(last)

    def at(self, index: int) -> Mark:
        """Where character `index` (from 0) of the source stands."""
        before = re.split(r"\r\n|[\r\n\x85\u2028\u2029]", self.source[:index])
        return Mark(len(before), len(before[-1]) + 1)


def _visible_units(source: str, scalar: Scalar) -> Iterator[tuple[int, int]]:
    """Start and end of each stretch of the source that stands for one visible character of a scalar."""
    start, end = scalar.start, scalar.end
    if scalar.style in ("|", ">"):
        newline = source.find("\n", start, end)
        start = end if newline < 0 else newline
    elif scalar.style:
        start, end = start + 1, end - 1
    while start < end:
        unit = _UNIT.match(source, start, end)
        assert unit is not None  # the last alternative takes any character
        written = unit.group()
        if (written.startswith("\\") and scalar.style != '"') or (written == "''" and scalar.style != "'"):
            written = written[0]
        if not _is_blank(written):
            yield start, start + len(written)
        start += len(written)


def _is_blank(written: str) -> bool:
    if written.startswith("\\") and len(written) > 1:
        return written in _INVISIBLE_ESCAPES or written[1] in "\r\n"
    return written.isspace()
