"""Small things in words: moments, and what verdicts are worth, with their signs."""

from __future__ import annotations

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
