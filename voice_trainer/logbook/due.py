"""What is due, when and why; then what is new; then what comes. Pure: the time is passed in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import zip_longest

from voice_trainer.logbook.items import Item
from voice_trainer.logbook.practices import Practice
from voice_trainer.logbook.scheduling import Schedule, schedule_of

NEW_A_DAY = 5
"""How many flows are begun on one day (ours): each comes back several times, and what is due goes first."""


@dataclass(frozen=True, slots=True)
class DueItem:
    """A flow to practise. `schedule` is None for a new one; `recall` is the chance that it is remembered now."""

    item: Item
    schedule: Schedule | None
    recall: float | None
    practised: int
    failed: int
    why: str

    @property
    def is_new(self) -> bool:
        """Whether it was never rated."""
        return self.schedule is None


@dataclass(frozen=True, slots=True)
class Due:
    """`due` the least remembered first, `new` one of every kind in turn, `later` the soonest first."""

    due: tuple[DueItem, ...]
    new: tuple[DueItem, ...]
    later: tuple[DueItem, ...]
    new_left_out: int
    """How many more are new, but not today."""


def what_is_due(
    practices: Sequence[Practice], catalogue: Sequence[Item], now: datetime, *, new_a_day: int = NEW_A_DAY
) -> Due:
    """What one student's `practices` lead to at `now`, whose time zone says where days begin.

    `catalogue` are the flows that can be practised. Flows of other drills count as well (a drill may be a file of the
    student's own), but not those that a drill of the catalogue no longer has.
    """
    known = {item.key: item for item in catalogue}
    drills = {item.drill for item in catalogue}
    by_key: dict[tuple[str, str], list[Practice]] = {}
    for practice in practices:
        if practice.key in known or practice.drill not in drills:
            by_key.setdefault(practice.key, []).append(practice)
    scheduled: list[DueItem] = []
    rated: set[tuple[str, str]] = set()
    begun_today = 0
    for key, those in by_key.items():
        times = [(each.ended_utc, each.outcome) for each in those if each.outcome is not None]
        schedule = schedule_of(times)
        if schedule is None:
            continue
        rated.add(key)
        begun_today += min(moment for moment, _ in times).astimezone(now.tzinfo).date() == now.date()
        scheduled.append(_scheduled(known.get(key) or _item(those[-1]), schedule, those, now))
    due = [each for each in scheduled if each.schedule is not None and each.schedule.due_utc <= now]
    later = [each for each in scheduled if each.schedule is not None and each.schedule.due_utc > now]
    unrated = _kinds_in_turn(item for item in catalogue if item.key not in rated)
    places = max(0, new_a_day - begun_today)
    new = [
        DueItem(item, None, None, len(by_key.get(item.key, ())), 0, _why_new(by_key.get(item.key, ())))
        for item in unrated[:places]
    ]
    return Due(
        due=tuple(sorted(due, key=_urgency)),
        new=tuple(new),
        later=tuple(sorted(later, key=_moment)),
        new_left_out=len(unrated) - len(new),
    )


def forecast(found: Due, now: datetime, days: int = 14) -> Mapping[date, int]:
    """How many flows come due on each of the next `days` days, today's and what is overdue first."""
    today = now.date()
    counts = {today + timedelta(days=number): 0 for number in range(days)}
    counts[today] += len(found.due)
    for each in found.later:
        day = _moment(each)[0].astimezone(now.tzinfo).date()
        if day in counts:
            counts[day] += 1
    return counts


def _kinds_in_turn(items: Iterable[Item]) -> list[Item]:
    """The first of every kind, then the second, and so on; within a kind they stay in order.

    A day's new flows are a bit of everything, not the five steps of the drill that comes first by its name.
    """
    by_kind: dict[str, list[Item]] = {}
    for item in items:
        by_kind.setdefault(item.kind, []).append(item)
    rounds = zip_longest(*by_kind.values())
    return [item for each in rounds for item in each if item is not None]


def _scheduled(item: Item, schedule: Schedule, those: Iterable[Practice], now: datetime) -> DueItem:
    rated = sorted((each for each in those if each.outcome is not None), key=lambda each: each.ended_utc)
    last = rated[-1]
    return DueItem(
        item,
        schedule,
        schedule.recall(now),
        practised=len(rated),
        failed=sum(each.outcome == "failed" for each in rated),
        why=f"{last.outcome}: {last.why}",
    )


def _item(practice: Practice) -> Item:
    """A flow of a drill that is not in the catalogue, as it was practised."""
    return Item(practice.drill, practice.step, practice.flow, practice.title, practice.kind, practice.lead_in)


def _why_new(those: Sequence[Practice]) -> str:
    return "practised, but not rated yet" if those else "not practised yet"


def _urgency(each: DueItem) -> tuple[float, datetime, tuple[str, str]]:
    assert each.recall is not None
    return (each.recall, *_moment(each))


def _moment(each: DueItem) -> tuple[datetime, tuple[str, str]]:
    assert each.schedule is not None
    return (each.schedule.due_utc, each.item.key)
