"""Progress as data: what `progress --json` writes. Its fields are listed in DEVELOPERS.md.

The schema is versioned by `PROGRESS_SCHEMA`. A new field does not raise it; to remove, rename or mean something else by
a field does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, datetime
from typing import Any, Final

from voice_trainer.logbook.due import forecast
from voice_trainer.logbook.practices import WeakCall
from voice_trainer.logbook.progress import (
    Row,
    Shares,
    by_flow,
    by_kind,
    by_week,
    by_week_and_flow,
    by_week_and_kind,
    shares_of,
)
from voice_trainer.progress.report import CAUTION, FORECAST_DAYS, Report

PROGRESS_SCHEMA: Final = 1

_PLACES = 4
"""Decimals of a share, and of a mean time."""


def student_as_data(report: Report) -> dict[str, Any]:
    """One student as an object that JSON can hold."""
    return _head(report.now) | _student(report)


def students_as_data(reports: Sequence[Report], not_shown: int, now: datetime) -> dict[str, Any]:
    """An instructor's view: `not_shown` students have not agreed to it."""
    return _head(now) | {"not_shown": not_shown, "students": [_student(report) for report in reports]}


def _head(now: datetime) -> dict[str, Any]:
    return {
        "progress_schema": PROGRESS_SCHEMA,
        "now": now.isoformat(timespec="seconds"),
        "caution": CAUTION,
    }


def _student(report: Report) -> dict[str, Any]:
    zone, practices = report.now.tzinfo, report.practices
    return {
        "student": report.student,
        "sessions": report.time.sessions,
        "seconds": round(report.time.seconds, 3),
        "total": _shares(shares_of(practices)),
        "by_week": [
            {"seconds": round(report.time.by_week.get(row.week or date.min, 0.0), 3), **_row(row)}
            for row in by_week(practices, zone)
        ],
        "by_kind": [_row(row) for row in by_kind(practices)],
        "by_flow": [_row(row) for row in by_flow(practices)],
        "by_week_and_kind": [_row(row) for row in by_week_and_kind(practices, zone)],
        "by_week_and_flow": [_row(row) for row in by_week_and_flow(practices, zone)],
        "weakest_calls": [_weak_call(each) for each in report.weakest],
        "due_now": len(report.due.due),
        "forecast": {
            str(day): count for day, count in forecast(report.due, report.now, FORECAST_DAYS).items()
        },
    }


def _row(row: Row) -> dict[str, Any]:
    names = {"week": row.week and str(row.week), "kind": row.kind, "drill": row.drill, "step": row.step}
    return {name: value for name, value in names.items() if value} | _shares(row.shares)


def _shares(shares: Shares) -> dict[str, Any]:
    values = asdict(shares)
    return {
        name: round(value, _PLACES) if isinstance(value, float) else value for name, value in values.items()
    }


def _weak_call(weak: WeakCall) -> dict[str, Any]:
    instead = [
        {"said": each.said, "times": each.times, "words": [word._asdict() for word in each.words]}
        for each in weak.said_instead
    ]
    return asdict(weak) | {"said_instead": instead}
