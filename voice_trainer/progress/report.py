"""All that is told of how a student gets on, gathered from the logbook."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from voice_trainer.logbook.due import Due, what_is_due
from voice_trainer.logbook.items import Item
from voice_trainer.logbook.practices import Practice, WeakCall
from voice_trainer.logbook.reading import PractisedTime, practices_of, practised_time, weakest_calls
from voice_trainer.logbook.store import Logbook

FORECAST_DAYS: Final = 14
WEAKEST_TOLD: Final = 10

CAUTION: Final = (
    "Study aid only. Recognition errs: no figure here is evidence of proficiency. "
    "Current charts, local procedures and your instructor come first. "
    "Never use it while operating an aircraft or driving."
)


@dataclass(frozen=True, slots=True)
class Report:
    """One student at the time `now`, whose time zone says where days and weeks begin; '' is who gave no name."""

    student: str
    now: datetime
    practices: Sequence[Practice]
    time: PractisedTime
    weakest: tuple[WeakCall, ...]
    due: Due


def report_of(book: Logbook, student: str, flows: Sequence[Item], now: datetime) -> Report:
    """Gather it; `flows` are those that can be practised. Raises LogbookError."""
    practices = practices_of(book, student)
    return Report(
        student,
        now,
        practices,
        practised_time(book, student, now.tzinfo),
        weakest_calls(book, student, WEAKEST_TOLD),
        what_is_due(practices, flows, now),
    )
