"""`voice-trainer due`: what to practise now, and why."""

from __future__ import annotations

import json
import shlex
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from voice_trainer import __version__
from voice_trainer.archive.places import packs_folder
from voice_trainer.cli.command_name import as_typed_here
from voice_trainer.cli.logbook import logbook_in_step
from voice_trainer.cli.streams import write_json
from voice_trainer.cli.terminal import console, print_table, shown
from voice_trainer.library.errors import DrillError
from voice_trainer.library.folders import CONTENT
from voice_trainer.logbook.due import NEW_A_DAY, Due, DueItem, what_is_due
from voice_trainer.logbook.entries import same_student
from voice_trainer.logbook.errors import LogbookError
from voice_trainer.logbook.items import Item, items_of
from voice_trainer.logbook.reading import practices_of, students
from voice_trainer.logbook.store import Logbook
from voice_trainer.phraseology.counting import counted

if TYPE_CHECKING:
    from voice_trainer.drills.model import Drill

LATER_SHOWN = 3


def due(student: str, *, as_json: bool, new_a_day: int | None = None) -> int:
    """Print what is due for a student, '' for sessions without a name. Raises LogbookError."""
    now = datetime.now().astimezone()
    with logbook_in_step() as book:
        known = students(book)
        found = _found(book, student, now, new_a_day)
    if as_json:
        write_json(json.dumps(_as_data(found, student, now), indent=2) + "\n")
        return 0
    _print(found, student, now)
    others = [name for name in known if name and same_student(name) != same_student(student)]
    if not any(same_student(name) == same_student(student) for name in known):
        out = console()
        whose = f"No session of {shown(student)}" if student else "No session without a name"
        there = f"; there are sessions of {', '.join(map(shown, others))} (--student)" if others else ""
        out.print(f"{whose} is in the logbook yet{there}.", markup=False)
    return 0


def due_now(student: str, now: datetime, new_a_day: int | None = None) -> Due:
    """What is due for a student at `now`. Raises LogbookError."""
    with logbook_in_step() as book:
        return _found(book, student, now, new_a_day)


def _found(book: Logbook, student: str, now: datetime, new_a_day: int | None) -> Due:
    return what_is_due(
        practices_of(book, student),
        catalogue(book),
        now,
        new_a_day=NEW_A_DAY if new_a_day is None else new_a_day,
    )


def catalogue(book: Logbook) -> tuple[Item, ...]:
    """The flows of the built-in drills and of those of packs. Raises LogbookError.

    They are read from the drills' files once, then kept in the logbook.
    """
    # All files count, those that are no drill as well: a house file changes the drills beside it.
    files = sorted([*CONTENT.glob("*.yaml"), *packs_folder().rglob("*.yaml")])
    states = [(path, path.stat()) for path in files]
    fingerprint = " ".join(
        [__version__, *(f"{path}@{each.st_size}@{each.st_mtime_ns}" for path, each in states)]
    )
    found = book.catalogue(fingerprint)
    if not found:
        found = items_of(_usable_drills())
        with suppress(LogbookError):  # it is read again next time
            book.keep_catalogue(fingerprint, found)
    return found


def _usable_drills() -> Iterator[Drill]:
    """Every drill but the flown ones, and those of packs that can't be read any more: `list` says why."""
    # To read drills takes as long to load as 'due' may take: it is done once.
    from voice_trainer.cli.finding import installed_packs
    from voice_trainer.library.builtin import builtin_drills, find_drill

    packs = installed_packs()
    for name in sorted(builtin_drills() | packs.drills()):
        with suppress(DrillError):
            yield find_drill(name, packs=packs)


def _print(found: Due, student: str, now: datetime) -> None:
    out = console()
    whose = f" for {shown(student)}" if student else ""
    out.print(
        f"{counted(len(found.due), 'flow')} due{whose}, {len(found.new)} new today.",
        style="bold",
        markup=False,
    )
    rows = [_row(each, now) for each in (*found.due, *found.new)]
    if rows:
        print_table(out, ("due", "recall", "drill", "step", "why"), rows)
    if found.new_left_out:
        out.print(
            f"For other days: {counted(found.new_left_out, 'more new flow')}.", style="dim", markup=False
        )
    for each in found.later[:LATER_SHOWN]:
        when = _when(each, now)
        out.print(
            f"Later: {shown(each.item.drill)}, {shown(each.item.step)}, {when}.", style="dim", markup=False
        )
    if found.due or found.new:
        whose = f" --student {shlex.quote(shown(student))}" if student else ""
        out.print(as_typed_here(f"Practise it: voice-trainer run --due{whose}"), markup=False)


def _row(each: DueItem, now: datetime) -> tuple[str, ...]:
    schedule = each.schedule
    is_of_today = schedule is not None and now - schedule.last_utc < timedelta(days=1)
    recall = "" if each.recall is None or is_of_today else f"{each.recall:.0%}"  # it is counted by whole days
    return (_when(each, now), recall, each.item.drill, each.item.step, each.why)


def _when(each: DueItem, now: datetime) -> str:
    """'new', 'now', '3 days ago', 'in 2 hours'."""
    if each.schedule is None:
        return "new"
    seconds = (each.schedule.due_utc - now).total_seconds()
    size = abs(seconds)
    if size < 60:
        return "now"
    span = next(
        counted(int(size // length), unit)
        for length, unit in ((86400, "day"), (3600, "hour"), (60, "minute"))
        if size >= length
    )
    return f"{span} ago" if seconds < 0 else f"in {span}"


def _as_data(found: Due, student: str, now: datetime) -> dict[str, Any]:
    return {
        "student": student,
        "now": now.isoformat(timespec="seconds"),
        "due": [item_as_data(each) for each in found.due],
        "new": [item_as_data(each) for each in found.new],
        "new_left_out": found.new_left_out,
        "later": [item_as_data(each) for each in found.later],
    }


def item_as_data(each: DueItem) -> dict[str, Any]:
    """A flow with where it stands, for JSON."""
    schedule = each.schedule
    return {
        "drill": each.item.drill,
        "step": each.item.step,
        "flow": each.item.flow,
        "title": each.item.title,
        "kind": each.item.kind,
        "lead_in": each.item.lead_in,
        "due_utc": None if schedule is None else schedule.due_utc.isoformat(timespec="seconds"),
        "last_utc": None if schedule is None else schedule.last_utc.isoformat(timespec="seconds"),
        "recall": None if each.recall is None else round(each.recall, 4),
        "stability_days": None if schedule is None else round(schedule.stability_days, 4),
        "practised": each.practised,
        "failed": each.failed,
        "why": each.why,
    }
