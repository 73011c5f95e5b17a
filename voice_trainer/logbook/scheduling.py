"""When a flow is due again: FSRS, as the library `fsrs` has it (its default parameters, no fuzz).

The library's terms stay in this module. The schedule is worked out anew from all practices of a flow, so that nothing
of it needs to be kept. No clock is read: the library reads one only for cards and reviews without a date.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache

from fsrs import Card, Rating, Scheduler

from voice_trainer.logbook.entries import Outcome

DESIRED_RECALL = 0.9
"""A flow is due when the chance that it is remembered has fallen to this (the library's default)."""

_RATINGS: dict[Outcome, Rating] = {
    "failed": Rating.Again,
    "hard": Rating.Hard,
    "good": Rating.Good,
    "easy": Rating.Easy,
}


@dataclass(frozen=True, slots=True)
class Schedule:
    """Where a flow stands after its last practice.

    `stability_days` is how long it takes until the chance of recall is 90 %, `difficulty` is from 1 to 10.
    """

    due_utc: datetime
    last_utc: datetime
    stability_days: float
    difficulty: float

    def recall(self, now: datetime) -> float:
        """The chance, 0 to 1, that the flow is remembered at `now`, by whole days. `now` knows its time zone."""
        card = Card(
            card_id=0,
            due=self.due_utc,
            last_review=self.last_utc,
            stability=self.stability_days,
            difficulty=5.0,
        )
        return _scheduler().get_card_retrievability(card, now.astimezone(UTC))


def schedule_of(practices: Iterable[tuple[datetime, Outcome]]) -> Schedule | None:
    """The schedule that practices lead to, in order of time; None where there were none. Times know their zone."""
    scheduler = _scheduler()
    card: Card | None = None
    for moment, outcome in sorted(practices, key=lambda each: each[0]):
        moment_utc = moment.astimezone(UTC)
        card = card or Card(card_id=0, due=moment_utc)
        card, _ = scheduler.review_card(card, _RATINGS[outcome], moment_utc)
    if card is None or card.last_review is None or card.stability is None or card.difficulty is None:
        return None
    return Schedule(card.due, card.last_review, card.stability, card.difficulty)


@cache
def _scheduler() -> Scheduler:
    return Scheduler(desired_retention=DESIRED_RECALL, enable_fuzzing=False)
