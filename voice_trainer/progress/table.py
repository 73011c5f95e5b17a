"""Progress as comma-separated values for a spreadsheet: the flows by week, or the weakest calls."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Final, Literal

from voice_trainer.logbook.progress import by_week_and_flow
from voice_trainer.progress.data import PROGRESS_SCHEMA
from voice_trainer.progress.report import Report

Table = Literal["flows", "calls"]

_Cells = tuple[str | int | float, ...]

FLOWS: Final = (
    "student",
    "week",
    "kind",
    "drill",
    "step",
    "practised",
    "calls",
    "completeness",
    "accuracy",
    "order",
    "timing",
    "promptness",
    "after_seconds",
)
CALLS: Final = (
    "student",
    "drill",
    "step",
    "call",
    "expected",
    "times",
    "missed",
    "wrong",
    "other",
    "said_instead",
    "said_instead_times",
)

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_of(table: Table, reports: Sequence[Report], text: Callable[[str], str]) -> str:
    """A header line, then the rows of every student; `text` makes a text one that may be shown.

    'flows' has a row for each week and flow, its shares 0 to 1, empty where nothing counts. 'calls' has a row for each
    thing that was said instead of a weak call, one with an empty cell where nothing was.
    """
    columns, rows = (FLOWS, _flows) if table == "flows" else (CALLS, _calls)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("progress_schema", *columns))
    for report in reports:
        for row in rows(report):
            cells = (_text(text(cell)) if isinstance(cell, str) else cell for cell in row)
            writer.writerow((PROGRESS_SCHEMA, *cells))
    return out.getvalue()


def _flows(report: Report) -> Iterator[_Cells]:
    for row in by_week_and_flow(report.practices, report.now.tzinfo):
        values: Mapping[str, int | float | None] = asdict(row.shares)
        numbers = (values[name] for name in FLOWS[5:])
        yield (
            report.student,
            str(row.week),
            row.kind,
            row.drill,
            row.step,
            *("" if number is None else round(number, 4) for number in numbers),
        )


def _calls(report: Report) -> Iterator[_Cells]:
    for weak in report.weakest:
        counts = (weak.times, weak.missed, weak.wrong, weak.other)
        for said, times in [(each.said, each.times) for each in weak.said_instead] or [("", 0)]:
            yield (report.student, weak.drill, weak.step, weak.call, weak.expected, *counts, said, times)


def _text(text: str) -> str:
    """A cell that a spreadsheet takes for text: what would begin a formula gets an apostrophe before it (OWASP, CSV
    injection)."""
    return f"'{text}" if text.startswith(_FORMULA) else text
