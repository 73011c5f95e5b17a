"""What is wrong with a drill file, for the person who wrote it."""

from __future__ import annotations

from dataclasses import dataclass

LONGEST_QUOTE = 60
"""Characters of the author's own text that a message repeats."""

LONGEST_MESSAGE = 400
"""Characters of another part's message, which may repeat all of what the author wrote."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong, and what to do about it.

    `line` and `column` count from 1; both are None where the trouble is with the file as a whole.
    """

    file: str
    what: str
    advice: str
    line: int | None = None
    column: int | None = None

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}:{self.column}"
        return f"{place}: {self.what}; {self.advice}"


class DrillError(Exception):
    """A drill that can't be used. `problems` holds everything that was found, the first in the file first.

    As text it is one line a problem: 'FILE:LINE:COLUMN: what; what to do'.
    """

    def __init__(self, *problems: Problem) -> None:
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))


def quoted(text: object) -> str:
    """A piece of the author's text as a message repeats it: on one line, cut short, nothing unprintable."""
    line = "".join(c if c.isprintable() else " " for c in " ".join(str(text).split()))
    return f"'{line}'" if len(line) <= LONGEST_QUOTE else f"'{line[: LONGEST_QUOTE - 1]}…'"


def one_line(text: str) -> str:
    """A message of another part of the program, on one line, of bearable length, without a full stop."""
    line = " ".join(text.split()).rstrip(".")
    return line if len(line) <= LONGEST_MESSAGE else f"{line[: LONGEST_MESSAGE - 1]}…"
