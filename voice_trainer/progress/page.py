"""Progress as one page, of a student or of all whom an instructor may see, in the frame of every page (`pages.frame`).

What the templates lay out is gathered here, so that they only lay out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from markupsafe import Markup

from voice_trainer.logbook.due import DueItem, forecast
from voice_trainer.logbook.entries import WordOver
from voice_trainer.logbook.practices import Practice, WeakCall
from voice_trainer.logbook.progress import Shares, Trend, shares_of, trend_of, week_of
from voice_trainer.pages.frame import rendered
from voice_trainer.progress.plots import forecast_svg, share_svg, spark_svg, time_svg
from voice_trainer.progress.report import CAUTION, FORECAST_DAYS, Report
from voice_trainer.progress.wording import (
    MEASURES,
    Measure,
    change,
    counted,
    day_and_month,
    hours,
    long_day,
    percent,
    share_in,
)

GENERATOR: Final = "voice_trainer progress"
"""The page says that it is one of ours, so that no other file is ever written over."""

MOST_WORD_PAIRS: Final = 80
DUE_SHOWN: Final = 12

Span = tuple[date, date]


@dataclass(frozen=True, slots=True)
class Figure:
    """A measure of something: what it is now, how it changed, and its line: none on a page of many students."""

    measure: Measure
    now: str
    change: str
    line: Markup | None


@dataclass(frozen=True, slots=True)
class Group:
    """Practices of one kind, drill or flow; of a drill with its flows."""

    name: str
    practised: int
    last: date
    after_seconds: float | None
    figures: tuple[Figure, ...]
    kind: str = ""
    flows: tuple[Group, ...] = ()


@dataclass(frozen=True, slots=True)
class Weak:
    """A weak call with its drill's title; what was said instead, how often, and its nearest right reading over it."""

    call: WeakCall
    title: str
    instead: tuple[tuple[str, int, tuple[WordOver, ...]], ...]


@dataclass(frozen=True, slots=True)
class Week:
    """A row of the table of weeks."""

    week: date
    seconds: float
    shares: Shares


@dataclass(frozen=True, slots=True)
class Student:
    """All that the page shows of one; `key` begins the identifiers of what is theirs."""

    key: str
    name: str
    report: Report
    total: Shares
    figures: tuple[Figure, ...]
    plots: tuple[Markup, ...]
    time: Markup | None
    weeks: tuple[Week, ...]
    kinds: tuple[Group, ...]
    drills: tuple[Group, ...]
    weakest: tuple[Weak, ...]
    forecast: Markup
    comes: tuple[tuple[date, int], ...]
    due: tuple[DueItem, ...]
    compared: bool
    """Whether there is an earlier time to hold the last weeks against."""


def page_of(reports: Sequence[Report], now: datetime, *, not_shown: int | None = None) -> str:
    """The page's HTML: of the one student of whom there is a report, or, with `not_shown`, an instructor's view.

    `not_shown` is how many students have not agreed to it. The same reports at the same time give the same text.
    """
    is_of_one = not_shown is None
    content = {
        "students": [
            _student(f"s{number}", report, with_lines=is_of_one)
            for number, report in enumerate(reports, start=1)
        ],
        "is_of_one": is_of_one,
        "not_shown": not_shown or 0,
        "now": now,
        "caution": CAUTION,
        "measures": MEASURES,
        "days": FORECAST_DAYS,
        "due_shown": DUE_SHOWN,
    }
    filters: dict[str, Callable[..., object]] = {
        "percent": percent,
        "hours": hours,
        "long_day": long_day,
        "day_and_month": day_and_month,
        "counted": counted,
        "share_in": share_in,
    }
    return rendered("voice_trainer.progress", GENERATOR, content, filters)


def _student(key: str, report: Report, *, with_lines: bool) -> Student:
    practices, zone = report.practices, report.now.tzinfo
    trend = trend_of(practices, zone)
    span = _span(report, trend)
    comes = forecast(report.due, report.now, FORECAST_DAYS)
    weeks = dict(trend.weeks)
    nothing = shares_of(())
    return Student(
        key=key,
        name=report.student,
        report=report,
        total=shares_of(practices),
        figures=_figures(trend, None),
        plots=tuple(
            Markup(share_svg(f"{key}-{each.field}", each.name, _shares(trend, each), span))
            for each in MEASURES
        )
        if trend.weeks
        else (),
        time=Markup(time_svg(f"{key}-time", report.time.by_week, span)) if report.time.by_week else None,
        weeks=tuple(
            Week(week, report.time.by_week.get(week, 0.0), weeks.get(week, nothing))
            for week in sorted({*weeks, *report.time.by_week}, reverse=True)
        ),
        kinds=tuple(
            _group(kind, those, report, span)
            for kind, those in sorted(_by(practices, lambda each: each.kind).items())
        ),
        drills=_drills(report, span if with_lines else None),
        weakest=_weakest(report),
        forecast=Markup(forecast_svg(f"{key}-forecast", comes)),
        comes=tuple((day, count) for day, count in sorted(comes.items()) if count),
        due=report.due.due,
        compared=trend.before is not None,
    )


def _span(report: Report, trend: Trend) -> Span:
    """From the first week with practice to the present one, so that a long pause is seen."""
    weeks = [*report.time.by_week, *(week for week, _ in trend.weeks)]
    present = week_of(report.now, report.now.tzinfo)
    return min(weeks, default=present), max([*weeks, present])


def _drills(report: Report, span: Span | None) -> tuple[Group, ...]:
    found = []
    for title, those in sorted(
        _by(report.practices, lambda each: f"{each.title}\0{each.drill}").items(),
        key=lambda group: _natural(group[0]),
    ):
        flows = tuple(
            _group(step, of_step, report, span)
            for step, of_step in sorted(
                _by(those, lambda each: each.step).items(), key=lambda group: _natural(group[0])
            )
        )
        found.append(_group(title.rpartition("\0")[0], those, report, span, those[-1].kind, flows))
    return tuple(found)


def _group(
    name: str,
    practices: Sequence[Practice],
    report: Report,
    span: Span | None,
    kind: str = "",
    flows: tuple[Group, ...] = (),
) -> Group:
    trend = trend_of(practices, report.now.tzinfo)
    return Group(
        name=name,
        practised=len(practices),
        last=practices[-1].ended_utc.astimezone(report.now.tzinfo).date(),
        after_seconds=trend.recent.after_seconds,
        figures=_figures(trend, span),
        kind=kind,
        flows=flows,
    )


def _figures(trend: Trend, span: Span | None) -> tuple[Figure, ...]:
    found = []
    for measure in MEASURES:
        recent = share_in(trend.recent, measure)
        before = None if trend.before is None else share_in(trend.before, measure)
        weeks = _shares(trend, measure)
        drawn = span is not None and any(share is not None for _, share in weeks)
        line = Markup(spark_svg(weeks, span)) if drawn and span is not None else None
        found.append(Figure(measure, percent(recent), change(before, recent), line))
    return tuple(found)


def _shares(trend: Trend, measure: Measure) -> list[tuple[date, float | None]]:
    return [(week, share_in(shares, measure)) for week, shares in trend.weeks]


def _weakest(report: Report) -> tuple[Weak, ...]:
    titles = {each.drill: each.title for each in report.practices}
    return tuple(
        Weak(
            each,
            titles.get(each.drill, each.drill),
            tuple((instead.said, instead.times, _few(instead.words)) for instead in each.said_instead),
        )
        for each in report.weakest
    )


def _few(words: tuple[WordOver, ...]) -> tuple[WordOver, ...]:
    """Nothing where word over word would be no help: it is too long."""
    return words if len(words) <= MOST_WORD_PAIRS else ()


def _by(practices: Sequence[Practice], key: Callable[[Practice], str]) -> dict[str, list[Practice]]:
    groups: dict[str, list[Practice]] = {}
    for practice in practices:
        groups.setdefault(key(practice), []).append(practice)
    return groups


def _natural(text: str) -> list[tuple[int, int, str]]:
    """'step 2' before 'step 10'."""
    parts = re.split(r"([0-9]{1,18})", text.casefold())
    return [(1, int(part), "") if number % 2 else (0, 0, part) for number, part in enumerate(parts)]
