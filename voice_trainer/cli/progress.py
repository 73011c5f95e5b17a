"""`voice-trainer progress`: how it goes, for a student, or for an instructor those who have agreed."""

from __future__ import annotations

import argparse
import json
import shlex
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from rich.console import Console

from voice_trainer.archive.places import instructor_consent_path, progress_pages
from voice_trainer.archive.private_folder import private_folder
from voice_trainer.cli.command_name import as_typed_here
from voice_trainer.cli.due import catalogue
from voice_trainer.cli.logbook import logbook_in_step
from voice_trainer.cli.page_files import BESIDE_THE_JOURNAL, check_page
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.streams import write_json, write_table
from voice_trainer.cli.terminal import console, print_table, shown
from voice_trainer.library.errors import quoted
from voice_trainer.logbook.due import forecast
from voice_trainer.logbook.entries import same_student
from voice_trainer.logbook.practices import WeakCall
from voice_trainer.logbook.progress import Shares, by_flow, by_kind, by_week, shares_of
from voice_trainer.logbook.reading import students
from voice_trainer.outputs.kinds import PROGRESS_PAGE
from voice_trainer.outputs.writing import write_output
from voice_trainer.phraseology.counting import counted
from voice_trainer.progress.data import student_as_data, students_as_data
from voice_trainer.progress.report import FORECAST_DAYS, Report, report_of
from voice_trainer.progress.table import csv_of
from voice_trainer.progress.wording import hours

WEEKS_SHOWN = 8
WEAKEST_SHOWN = 5
SHARES = ("said", "accuracy", "order", "timing", "prompt", "begins after")


def progress(options: argparse.Namespace) -> int:
    """Print the progress of a student, or an instructor's view, or write it as a page or as data.

    Raises LogbookError, ArchiveError; UsageError for a student of whom there is no session, or who has not agreed, and
    for a page that may not be written.
    """
    student, instructor = options.student, options.instructor
    check_page("--html", options.html, PROGRESS_PAGE)
    now = datetime.now().astimezone()
    with logbook_in_step() as book:
        chosen, not_shown = _chosen(student, students(book), instructor=instructor)
        flows = catalogue(book)
        reports = [report_of(book, name, flows, now) for name in chosen]
    several = instructor and student is None
    if options.json:
        data = students_as_data(reports, not_shown, now) if several else student_as_data(reports[0])
        write_json(json.dumps(data, indent=2) + "\n")
    elif options.csv:
        write_table(csv_of(options.csv, reports, _whole))
    elif options.html is not None:
        page = _write_page(options.html, reports, not_shown if several else None, now, instructor=instructor)
        console().print(f"Page: {page}", markup=False)
    elif several:
        _print_students(reports, not_shown)
    else:
        _print(reports[0], now)
    return 0


def _write_page(
    wanted: Path, reports: Sequence[Report], not_shown: int | None, now: datetime, *, instructor: bool
) -> Path:
    """The page, for its owner's eyes only; where it is."""
    from voice_trainer.progress.page import page_of

    path = progress_pages()[instructor] if wanted == BESIDE_THE_JOURNAL else wanted
    if wanted == BESIDE_THE_JOURNAL:
        private_folder(path.parent)
    write_output("--html", path, PROGRESS_PAGE, page_of(reports, now, not_shown=not_shown))
    return path


def _whole(text: str) -> str:
    return shown(text, 10_000)


def _agreed() -> set[str]:
    """Who has agreed to an instructor's view."""
    from voice_trainer.archive.instructor_consent_file import read_agreements

    return {same_student(each.student) for each in read_agreements(instructor_consent_path())}


def _chosen(student: str | None, known: Sequence[str], *, instructor: bool) -> tuple[list[str], int]:
    """The students to report of, and how many there are who have not agreed."""
    agreed = _agreed() if instructor else set()
    if instructor and student is None:
        shown_ones = [name for name in known if same_student(name) in agreed]
        return shown_ones, len(known) - len(shown_ones)
    name = student or ""
    if instructor and same_student(name) not in agreed:
        raise UsageError(
            f"{quoted(name)} has not agreed to an instructor's view; "
            f"it takes 'voice-trainer logbook consent {shlex.quote(name)} yes'"
        )
    if student is not None and same_student(name) not in map(same_student, known):
        there = ", ".join(quoted(each) for each in known if each and not instructor)
        advice = f"there are sessions of {there}" if there else "'run --student' names them"
        raise UsageError(f"no session of {quoted(name)} is in the logbook; {advice}")
    return [name], 0


def _print(report: Report, now: datetime) -> None:
    out = console()
    whose = f" of {shown(report.student)}" if report.student else ""
    out.print(
        f"Progress{whose}: {counted(report.time.sessions, 'session')}, {hours(report.time.seconds)} practised.",
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
        (str(row.week), hours(report.time.by_week.get(row.week or date.min, 0.0)), *_cells(row.shares))
        for row in weeks[-WEEKS_SHOWN:]
    ]
    print_table(out, ("week", "time", "flows", *SHARES), rows)
    _section(out, "By kind")
    kinds = [(row.kind, *_cells(row.shares)) for row in by_kind(report.practices)]
    print_table(out, ("kind", "flows", *SHARES), kinds)
    _section(out, "By flow")
    each_flow = [(row.drill, row.step, *_cells(row.shares)) for row in by_flow(report.practices)]
    print_table(out, ("drill", "step", "flows", *SHARES), each_flow)
    _print_weakest(out, report.weakest[:WEAKEST_SHOWN])
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
        for instead in each.said_instead:
            out.print(
                f"      said  {shown(instead.said, 100)}  ({counted(instead.times, 'time')})", markup=False
            )


def _print_students(reports: Sequence[Report], not_shown: int) -> None:
    out = console()
    if reports:
        rows = [
            (
                report.student or "(no name)",
                str(report.time.sessions),
                hours(report.time.seconds),
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
                f"{counted(not_shown, 'student')} not shown: "
                "'voice-trainer logbook consent NAME yes' is theirs to say."
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
