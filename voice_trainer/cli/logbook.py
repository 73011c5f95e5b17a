"""`voice-trainer logbook`, and the logbook as other commands have it: in step with the journals."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from rich.console import Console

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.places import instructor_consent_path, journals_folder, logbook_path
from voice_trainer.cli.command_name import as_typed_here
from voice_trainer.cli.terminal import console, shown
from voice_trainer.logbook.entries import same_student
from voice_trainer.logbook.errors import DamagedLogbookError, LogbookError, NewerLogbookError
from voice_trainer.logbook.keeping import CaughtUp, catch_up, enter
from voice_trainer.logbook.reading import students
from voice_trainer.logbook.store import Logbook, remove_logbook
from voice_trainer.phraseology.counting import counted

MOST_AFTER_A_SESSION = 20
"""Sessions that are entered after one, where earlier ones could not be: nobody wants to wait for the debrief."""

LONGEST_LINE = 400


def logbook(options: argparse.Namespace) -> int:
    """One of the actions. Raises LogbookError and ArchiveError."""
    if options.action == "rebuild":
        return _rebuild()
    return _consent(options.student, agrees=options.answer == "yes")


@contextmanager
def logbook_in_step() -> Iterator[Logbook]:
    """The logbook, after it has caught up with the journals; where its file can't be used, one that is in memory only.

    Raises LogbookError for a logbook of a newer version.
    """
    notes = console(to_stderr=True)
    try:
        book = Logbook(logbook_path())
        try:
            done = catch_up(book)
        except BaseException:
            book.close()
            raise
    except NewerLogbookError:
        raise
    except LogbookError as problem:
        notes.print(
            f"{shown(str(problem), LONGEST_LINE)}; what follows is read from the journals", markup=False
        )
        book = Logbook(None)
        done = catch_up(book)
    with book:
        for why in done.passed_over.values():
            notes.print(f"passed over: {shown(why, LONGEST_LINE)}", markup=False)
        yield book


def enter_session(journal: Path, out: Console) -> None:
    """After a session: enter it, and what could not be entered before. A logbook that can't be written is only said.

    A journal that was written elsewhere than with the others is in no logbook.
    """
    try:
        if journal.absolute().parent.resolve() != journals_folder().resolve() or not journal.exists():
            return
        with Logbook(logbook_path()) as book:
            enter(book, journal.stem, journal)
            catch_up(book, most=MOST_AFTER_A_SESSION)
    except (LogbookError, ArchiveError, OSError) as problem:
        line = as_typed_here(shown(" ".join(str(problem).split()), LONGEST_LINE))
        out.print(f"Not in the logbook yet: {line}. The next session or 'due' enters it.", markup=False)


def remove_from_logbook(sessions: Sequence[str]) -> None:
    """Remove forgotten sessions, if there is a logbook.

    Raises LogbookError where it can't be written, NewerLogbookError for one of a newer version.
    """
    if not logbook_path().exists():
        return
    with Logbook(logbook_path()) as book:
        book.remove(*sessions)


def _rebuild() -> int:
    path = logbook_path()
    done = _rebuilt(path)
    out = console()
    for why in done.passed_over.values():
        out.print(f"passed over: {shown(why, LONGEST_LINE)}", markup=False)
    out.print(f"{path}: {counted(done.entered, 'session')} entered from {journals_folder()}.", markup=False)
    return 0


def _rebuilt(path: Path) -> CaughtUp:
    """Every session entered anew, each in a transaction: whoever reads meanwhile sees all the others."""
    with Logbook(path) as book:
        try:
            return catch_up(book, anew=True)
        except DamagedLogbookError:
            book.close()
            remove_logbook(path)  # all that was in it is in the journals
    with Logbook(path) as book:
        return catch_up(book)


def _consent(student: str, *, agrees: bool) -> int:
    from voice_trainer.archive.instructor_consent_file import note_agreement, read_agreements

    note_agreement(instructor_consent_path(), student, agrees=agrees)
    out = console()
    what = "is shown" if agrees else "is not shown"
    out.print(
        as_typed_here(f"{shown(student)} {what} by 'voice-trainer progress --instructor'."), markup=False
    )
    if agrees:
        _note_if_unknown(student, out)
    others = [shown(each.student) for each in read_agreements(instructor_consent_path())]
    out.print(f"Agreed: {', '.join(others) or 'nobody'}.", markup=False)
    return 0


def _note_if_unknown(student: str, out: Console) -> None:
    """Say so where no session is of that name: it may be a slip, or somebody who has not begun."""
    from voice_trainer.library.wording import nearest

    with logbook_in_step() as book:
        known = {same_student(name): name for name in students(book) if name}
    if same_student(student) not in known:
        likely = nearest(student, known)
        hint = f"; did you mean '{shown(known[likely])}'?" if likely else "."
        out.print(f"No session here is of {shown(student)} yet{hint}", markup=False)
