"""`voice-trainer progress`: how it goes, for a student, or for an instructor those who have agreed."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

from rich.console import Console

from voice_trainer.archive.instructor_consent_file import read_agreements
from voice_trainer.archive.places import instructor_consent_path
from voice_trainer.cli.command_name import as_typed_here
from voice_trainer.cli.due import catalogue
from voice_trainer.cli.logbook import logbook_in_step
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.terminal import console, print_table, shown
from voice_trainer.library.errors import quoted
from voice_trainer.logbook.due import Due, forecast, what_is_due
from voice_trainer.logbook.entries import same_student
from voice_trainer.logbook.items import Item
from voice_trainer.logbook.practices import Practice, WeakCall
from voice_trainer.logbook.progress import Row, Shares, by_flow, by_kind, by_week, by_week_and_flow, shares_of
from voice_trainer.logbook.reading import PractisedTime, practices_of, practised_time, students, weakest_calls
from voice_trainer.logbook.store import Logbook

WEEKS_SHOWN = 8
FORECAST_DAYS = 14
SHARES = ("said", "accuracy", "order", "timing", "prompt", "begins after")


@dataclass(frozen=True, slots=True)
class Report:
    """All that is told of one student."""

    student: str
    practices: list[Practice]
    time: PractisedTime
    weakest: tuple[WeakCall, ...]
    due: Due


def progress(student: str | None, *, instructor: bool, manner: str) -> int:
    """Print the progress of a student, or an instructor's view; `manner` is text, json or csv.

    Raises LogbookError, ArchiveError; UsageError for a student of whom there is no session, or who has not agreed.
    """
    now = datetime.now().astimezone()
    with logbook_in_step() as book:
        known = students(book)
        chosen, not_shown = _chosen(student, known, instructor=instructor)
        flows = catalogue(book)
        reports = [_report(book, name, flows, now) for name in chosen]
    if manner == "json":
        several = instructor and student is None
        data = [_as_data(report, now) for report in reports]
        print(json.dumps({"students": data} if several else data[0], indent=2))
    elif manner == "csv":
        _write_csv(reports, now)
    elif instructor and student is None:
        _print_students(reports, not_shown)
    else:
        _print(reports[0], now)
    return 0


def _chosen(student: str | None, known: Sequence[str], *, instructor: bool) -> tuple[list[str], int]:
    """The students to report of, and how many there are who have not agreed."""
    agreed = {same_student(each.student) for each in read_agreements(instructor_consent_path())}
    if instructor and student is None:
        shown_ones = [name for name in known if same_student(name) in agreed]
        return shown_ones, len(known) - len(shown_ones)
    name = student or ""
    if instructor and same_student(name) not in agreed:
        raise UsageError(
            f"{quoted(name)} has not agreed to an instructor's view; it takes 'voice-trainer logbook consent NAME yes'"
        )
    if student is not None and same_student(name) not in map(same_student, known):
        there = ", ".join(quoted(each) for each in known if each and not instructor)
        advice = f"there are sessions of {there}" if there else "'run --student' names them"
        raise UsageError(f"no session of {quoted(name)} is in the logbook; {advice}")
    return [name], 0


def _report(book: Logbook, student: str, flows: Sequence[Item], now: datetime) -> Report:
    practices = practices_of(book, student)
    return Report(
        student,
        practices,
        practised_time(book, student, now.tzinfo),
        weakest_calls(book, student),
        what_is_due(practices, flows, now),
    )


def _print(report: Report, now: datetime) -> None:
    out = console()
    whose = f" of {shown(report.student)}" if report.student else ""
    out.print(
        f"Progress{whose}: {report.time.sessions} session(s), {_time(report.time.seconds)} practised.",
        style="bold",
        markup=False,
    )
    if not report.practices:
        out.print("No flow was practised to its end yet.", markup=False)
        return
    weeks = by_week(report.practices, now.tzinfo)
    _section(
        out, "By week, from its Monday" + (f" (the last {WEEKS_SHOWN})" if len(weeks) > WEEKS_SHOWN else "")
    )
    rows = [
        (str(row.week), _time(report.time.by_week.get(row.week or date.min, 0.0)), *_cells(row.shares))
        for row in weeks[-WEEKS_SHOWN:]
    ]
    print_table(out, ("week", "time", "flows", *SHARES), rows)
    _section(out, "By kind")
    kinds = [(row.kind, *_cells(row.shares)) for row in by_kind(report.practices)]
    print_table(out, ("kind", "flows", *SHARES), kinds)
    _section(out, "By flow")
    each_flow = [(row.drill, row.step, *_cells(row.shares)) for row in by_flow(report.practices)]
    print_table(out, ("drill", "step", "flows", *SHARES), each_flow)
    _print_weakest(out, report.weakest)
    _section(out, f"Comes due in {FORECAST_DAYS} days")
    for day, count in forecast(report.due, now, FORECAST_DAYS).items():
        if count:
            out.print(
                f"  {day}  {count:>3}  {'today' if day == now.date() else day.strftime('%A')}", markup=False
            )


def _print_weakest(out: Console, weakest: Sequence[WeakCall]) -> None:
    if not weakest:
        return
    _section(out, "Weakest calls")
    for each in weakest:
        counts = ((each.missed, "missed"), (each.wrong, "wrong"), (each.other, "late, early or out of order"))
        what = ", ".join(f"{count} {name}" for count, name in counts if count)
        out.print(
            f"  {shown(each.drill)}, {shown(each.step)}, {shown(each.call)}: {what}, of {each.times}",
            markup=False,
        )
        out.print(f"      say   {shown(each.expected, 100)}", markup=False)
        for said, count in each.said_instead:
            out.print(f"      said  {shown(said, 100)}  ({count} times)", markup=False)


def _print_students(reports: Sequence[Report], not_shown: int) -> None:
    out = console()
    if reports:
        rows = [
            (
                report.student or "(no name)",
                str(report.time.sessions),
                _time(report.time.seconds),
                str(report.practices[-1].ended_utc.date()) if report.practices else "",
                str(len(report.due.due)),
                *_cells(shares_of(report.practices)),
                "; ".join(f"{each.step}, {each.call}" for each in report.weakest[:1]),
            )
            for report in reports
        ]
        print_table(
            out, ("student", "sessions", "time", "last", "due", "flows", *SHARES, "weakest call"), rows
        )
    else:
        out.print("Nobody who has sessions here has agreed to an instructor's view.", markup=False)
    if not_shown:
        out.print(
            as_typed_here(
                f"{not_shown} student(s) not shown: 'voice-trainer logbook consent NAME yes' is theirs to say."
            ),
            markup=False,
        )


def _section(out: Console, title: str) -> None:
    out.print()
    out.print(title, style="bold", markup=False)


def _cells(shares: Shares) -> tuple[str, ...]:
    parts = (shares.completeness, shares.accuracy, shares.order, shares.timing, shares.promptness)
    percent = ("-" if each is None else f"{each:.0%}" for each in parts)
    after = "-" if shares.after_seconds is None else f"{shares.after_seconds:.1f} s"
    return (str(shares.practised), *percent, after)


def _time(seconds: float) -> str:
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def _as_data(report: Report, now: datetime) -> dict[str, Any]:
    zone = now.tzinfo
    return {
        "student": report.student,
        "now": now.isoformat(timespec="seconds"),
        "sessions": report.time.sessions,
        "seconds": round(report.time.seconds, 3),
        "total": asdict(shares_of(report.practices)),
        "by_week": [
            {"seconds": round(report.time.by_week.get(row.week or date.min, 0.0), 3), **_row_as_data(row)}
            for row in by_week(report.practices, zone)
        ],
        "by_kind": [_row_as_data(row) for row in by_kind(report.practices)],
        "by_flow": [_row_as_data(row) for row in by_flow(report.practices)],
        "by_week_and_flow": [_row_as_data(row) for row in by_week_and_flow(report.practices, zone)],
        "weakest_calls": [asdict(each) for each in report.weakest],
        "forecast": {str(day): count for day, count in forecast(report.due, now, FORECAST_DAYS).items()},
    }


def _row_as_data(row: Row) -> dict[str, Any]:
    names = {"week": row.week and str(row.week), "kind": row.kind, "drill": row.drill, "step": row.step}
    return {name: value for name, value in names.items() if value} | asdict(row.shares)


def _write_csv(reports: Sequence[Report], now: datetime) -> None:
    """A line for each student, week and flow; shares are 0 to 1, empty where nothing counts."""
    writer = csv.writer(sys.stdout, lineterminator="\n")
    names = (
        "practised",
        "calls",
        "completeness",
        "accuracy",
        "order",
        "timing",
        "promptness",
        "after_seconds",
    )
    writer.writerow(("student", "week", "kind", "drill", "step", *names))
    for report in reports:
        for row in by_week_and_flow(report.practices, now.tzinfo):
            values = asdict(row.shares)
            numbers = ["" if values[name] is None else round(values[name], 4) for name in names]
            words = [_cell(text) for text in (report.student, str(row.week), row.kind, row.drill, row.step)]
            writer.writerow((*words, *numbers))


def _cell(text: str) -> str:
    """Text that a spreadsheet takes for text: a formula begins with one of these (OWASP, CSV injection)."""
    line = shown(text, 10_000)
    return f"'{line}" if line.startswith(("=", "+", "-", "@")) else line
