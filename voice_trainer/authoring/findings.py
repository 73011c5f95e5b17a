"""What `check` finds in the files of drills: errors, which make a file unusable, and warnings, which don't."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from voice_trainer.library.errors import Problem

Severity = Literal["error", "warning"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One problem of a file, and how grave it is."""

    severity: Severity
    problem: Problem

    def __str__(self) -> str:
        each = self.problem
        place = each.file if each.line is None else f"{each.file}:{each.line}:{each.column}"
        return f"{place}: {self.severity}: {each.what}; {each.advice}"

    def as_data(self) -> dict[str, str | int | None]:
        """The finding for a program: line and column count from 1, None where it is about the whole file."""
        each = self.problem
        return {
            "file": each.file,
            "line": each.line,
            "column": each.column,
            "severity": self.severity,
            "what": each.what,
            "advice": each.advice,
        }
