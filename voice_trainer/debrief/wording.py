"""Small things in words: moments, verdict signs, and text of strangers made harmless to look at."""

from __future__ import annotations

import unicodedata
from typing import Final, Literal

from voice_trainer.grading.score import POINTS
from voice_trainer.journal.verdicts import Verdict

Earned = Literal["whole", "half", "nothing", "uncounted", "unreached"]

SIGNS: Final[dict[Earned, str]] = {
    "whole": "+",
    "half": "~",
    "nothing": "×",
    "uncounted": "?",
    "unreached": "·",
}

LONGEST_SHOWN: Final = 600
"""Characters of one text on the page; `--json` has it whole."""

_BIDIRECTIONAL: Final = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def earned(verdict: Verdict | None) -> Earned:
    """What a verdict is worth, as one word."""
    if verdict is None:
        return "unreached"
    points = POINTS[verdict]
    if points is None:
        return "uncounted"
    return "whole" if points == 1.0 else "half" if points else "nothing"


def clock(seconds: float) -> str:
    """Minutes and seconds of the session: '1:05'."""
    whole = int(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def plain(text: str) -> str:
    """Text as it may be shown: marks that turn the direction of what follows, and control characters, become visible.

    What is very long is cut, and says so.
    """
    cut = text[:LONGEST_SHOWN]
    shown = "".join(" " if c in "\t\n\r" else "\ufffd" if _is_unfit(c) else c for c in cut)
    return shown if len(text) <= LONGEST_SHOWN else f"{shown} … ({len(text) - LONGEST_SHOWN} characters more)"


def _is_unfit(character: str) -> bool:
    return character in _BIDIRECTIONAL or unicodedata.category(character) in ("Cc", "Cs")
