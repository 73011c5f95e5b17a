"""How it goes: shares over time, by flow and by kind. Pure: what was practised and the time are passed in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from typing import Any, TypeVar

from voice_trainer.logbook.practices import Practice

RECENT_WEEKS = 4
"""Weeks with practice that a trend holds against all before them."""

_Key = TypeVar("_Key", bound=tuple[Any, ...])


@dataclass(frozen=True, slots=True)
class Shares:
    """What some practices come to; shares are 0 to 1, None where nothing counts.

    The first four are those of a session's score: calls that were said, of all that were due; of those said, the ones
    with every value right; pairs of calls in the order that is set; of those said, the ones neither early nor late.
    `promptness`: of those said, the ones begun promptly; `after_seconds` is the mean time to their beginning.
    """

    practised: int
    calls: int
    completeness: float | None
    accuracy: float | None
    order: float | None
    timing: float | None
    promptness: float | None
    after_seconds: float | None


@dataclass(frozen=True, slots=True)
class Row:
    """Shares of a week (its Monday), of a kind of drill, and of a flow, '' where it is all of them."""

    week: date | None
    kind: str
    drill: str
    step: str
    shares: Shares


@dataclass(frozen=True, slots=True)
class Trend:
    """How something goes over time: its shares by week, the oldest first, only weeks in which it was practised.

    `recent` is what the later weeks come to, half of all and `RECENT_WEEKS` at most; `before` the others, None where
    there is only one week.
    """

    weeks: tuple[tuple[date, Shares], ...]
    recent: Shares
    before: Shares | None


def shares_of(practices: Iterable[Practice]) -> Shares:
    """What practices come to. At a level at which each call is said before, only their number counts."""
    every = list(practices)
    counted = [each for each in every if each.is_rated_level]
    calls = sum(each.calls for each in counted)
    said = sum(each.said for each in counted)
    pairs = sum(each.pairs for each in counted)
    return Shares(
        practised=len(every),
        calls=calls,
        completeness=_share(said, calls),
        accuracy=_share(sum(each.right for each in counted), said),
        order=_share(sum(each.in_order for each in counted), pairs),
        timing=_share(sum(each.timely for each in counted), said),
        promptness=_share(sum(each.prompt for each in counted), said),
        after_seconds=_share(sum(each.after_seconds for each in counted), said),
    )


def by_kind(practices: Sequence[Practice]) -> list[Row]:
    """A row for each kind of drill."""
    return [Row(None, kind, "", "", shares_of(those)) for (kind,), those in _grouped(practices, _kind)]


def by_flow(practices: Sequence[Practice]) -> list[Row]:
    """A row for each flow."""
    return [Row(None, *key, shares_of(those)) for key, those in _grouped(practices, _flow)]


def by_week(practices: Sequence[Practice], zone: tzinfo | None) -> list[Row]:
    """A row for each week in which something was practised, the oldest first."""
    weeks = _grouped(practices, lambda each: (week_of(each.ended_utc, zone),))
    return [Row(week, "", "", "", shares_of(those)) for (week,), those in weeks]


def by_week_and_kind(practices: Sequence[Practice], zone: tzinfo | None) -> list[Row]:
    """A row for each kind of drill of each week."""
    rows = _grouped(practices, lambda each: (week_of(each.ended_utc, zone), each.kind))
    return [Row(week, kind, "", "", shares_of(those)) for (week, kind), those in rows]


def by_week_and_flow(practices: Sequence[Practice], zone: tzinfo | None) -> list[Row]:
    """A row for each flow of each week."""
    rows = _grouped(practices, lambda each: (week_of(each.ended_utc, zone), *_flow(each)))
    return [Row(*key, shares_of(those)) for key, those in rows]


def trend_of(practices: Sequence[Practice], zone: tzinfo | None) -> Trend:
    """The trend of some practices."""
    weeks = _grouped(practices, lambda each: (week_of(each.ended_utc, zone),))
    cut = len(weeks) - min(RECENT_WEEKS, max(len(weeks) // 2, 1))
    early, late = weeks[:cut], weeks[cut:]
    return Trend(
        weeks=tuple((week, shares_of(those)) for (week,), those in weeks),
        recent=shares_of(each for _, those in late for each in those),
        before=shares_of(each for _, those in early for each in those) if early else None,
    )


def week_of(moment: datetime, zone: tzinfo | None) -> date:
    """The Monday of the week (ISO 8601) of a moment, in a time zone."""
    day = moment.astimezone(zone).date()
    return day - timedelta(days=min(day.weekday(), (day - date.min).days))


def _kind(practice: Practice) -> tuple[str]:
    return (practice.kind,)


def _flow(practice: Practice) -> tuple[str, str, str]:
    return (practice.kind, practice.drill, practice.step)


def _grouped(
    practices: Sequence[Practice], key: Callable[[Practice], _Key]
) -> list[tuple[_Key, list[Practice]]]:
    groups: dict[_Key, list[Practice]] = {}
    for practice in practices:
        groups.setdefault(key(practice), []).append(practice)
    return sorted(groups.items(), key=lambda group: group[0])


def _share(part: float, whole: float) -> float | None:
    return part / whole if whole else None
