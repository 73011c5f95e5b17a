"""Pattern text to tokens, and the error that points into it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal


class PatternError(ValueError):
    """A pattern that can't be used: `reason`, and where, counted from one."""

    def __init__(self, reason: str, line: int, column: int) -> None:
        super().__init__(reason, line, column)
        self.reason = reason
        self.line = line
        self.column = column

    def __str__(self) -> str:
        return f"line {self.line}, column {self.column}: {self.reason}"


@dataclass(frozen=True, slots=True)
class Place:
    """A place in a file, counted from one."""

    line: int
    column: int

    def error(self, reason: str) -> PatternError:
        """The error that something is wrong here."""
        return PatternError(reason, self.line, self.column)


def place_in(text: str, at: int, start: Place) -> Place:
    """The place of the character `at` of a text that begins at `start`."""
    lines = text.count("\n", 0, at)
    if not lines:
        return Place(start.line, start.column + at)
    return Place(start.line + lines, at - text.rfind("\n", 0, at))


TokenKind = Literal["word", "slot", "[", "]", "(", ")", "|"]


@dataclass(frozen=True, slots=True)
class Token:
    """A word, a bracket, a bar, or a whole slot: its type, and what stands behind the colon."""

    kind: TokenKind
    text: str
    place: Place
    value: str | None = None
    value_place: Place | None = None


_WORD = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)*")
_BRACKETS: dict[str, TokenKind] = {"[": "[", "]": "]", "(": "(", ")": ")", "|": "|"}


def tokens_of(text: str, start: Place) -> list[Token]:
    """Cut a pattern into tokens; raises PatternError for signs that can't be spoken and for a broken slot."""
    tokens: list[Token] = []
    at = 0
    while at < len(text):
        sign = text[at]
        place = place_in(text, at, start)
        if sign.isspace():
            at += 1
        elif sign in _BRACKETS:
            tokens.append(Token(_BRACKETS[sign], sign, place))
            at += 1
        elif sign == "{":
            token, at = read_slot(text, at, start)
            tokens.append(token)
        elif sign == "}":
            raise place.error("'}' closes nothing: a slot is written {heading: 095}")
        elif word := _WORD.match(text, at):
            tokens.append(Token("word", word[0], place))
            at = word.end()
        elif sign.isdigit():
            raise place.error("write figures as a slot such as {heading: 095}, or as words")
        else:
            raise place.error(f"{sign!r} is not spoken: write words, [optional], (this | that), {{slots}}")
    return tokens


def read_slot(text: str, at: int, start: Place) -> tuple[Token, int]:
    """The slot whose '{' is at `at`, and where the text goes on behind it; raises PatternError."""
    first = at + 1
    end = text.find("}", first)
    inside = text[first:] if end < 0 else text[first:end]
    if end < 0 or "{" in inside:
        raise place_in(text, at, start).error("'{' is not closed: a slot is written {heading: 095}")
    name, colon, value = inside.partition(":")
    name_place = place_in(text, first + len(name) - len(name.lstrip()), start)
    if not name.strip():
        raise name_place.error("a slot needs a type: {heading: 095}")
    if not colon:
        return Token("slot", name.strip(), name_place), end + 1
    value_at = first + len(name) + 1 + len(value) - len(value.lstrip())
    return Token("slot", name.strip(), name_place, value.strip(), place_in(text, value_at, start)), end + 1
