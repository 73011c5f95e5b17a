"""Small things in words: shares, how they changed, and lengths of time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from voice_trainer.logbook.progress import Shares

Measured = Literal["completeness", "accuracy", "order", "timing", "promptness"]


@dataclass(frozen=True, slots=True)
class Measure:
    """A share that is told: its name for a reader, and what it counts."""

    field: Measured
    name: str
    meaning: str


MEASURES: Final = (
    Measure("completeness", "Said", "of the calls that were due, those that were said"),
    Measure("accuracy", "Accuracy", "of those said, the ones with every value right"),
    Measure("order", "Order", "pairs of calls in the order that is set for them"),
    Measure("timing", "Timing", "of those said, the ones neither early nor late"),
    Measure(
        "promptness",
        "Promptness",
        "of those said, the ones begun within a quarter of their time, and within three seconds",
    ),
)


def share_in(shares: Shares, measure: Measure) -> float | None:
    """One share, 0 to 1."""
    value: float | None = getattr(shares, measure.field)
    return value


def percent(share: float | None) -> str:
    """'90 %', '–' where nothing counts."""
    return "–" if share is None else f"{share * 100:.0f}\u00a0%"


def change(before: float | None, recent: float | None) -> str:
    """'up 5 from 85 %', as a reader sees both figures; '' where there is nothing to hold it against."""
    if before is None or recent is None:
        return ""
    points = round(recent * 100) - round(before * 100)
    if points == 0:
        return "as before"
    return f"{'up' if points > 0 else 'down'} {abs(points)} from {percent(before)}"


def hours(seconds: float) -> str:
    """'153 h 08 min', '12 min'."""
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def day_and_month(day: date) -> str:
    """'5 January'."""
    return f"{day.day} {day:%B}"


def long_day(day: date) -> str:
    """'5 January 2026'."""
    return f"{day.day} {day:%B} {day.year}"


def counted(number: int, one: str, more: str = "") -> str:
    """'1 flow', '2 flows'."""
    return f"{number:,} {one if number == 1 else more or one + 's'}".replace(",", "\u00a0")
