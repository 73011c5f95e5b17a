"""What can become of a call."""

from __future__ import annotations

from typing import Literal, get_args

Verdict = Literal[
    "correct", "late", "early", "out of order", "wrong value", "incomplete", "missed", "unclear", "disputed"
]

VERDICTS: tuple[Verdict, ...] = tuple(each for each in get_args(Verdict) if each != "disputed")
"""What an instructor may decide; 'unclear' leaves the call out of the score. To dispute is the student's."""
