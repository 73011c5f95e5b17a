"""Keeping the logbook in step with the journals: what is missing is entered, what is gone is removed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.places import journals_folder, kept_sessions
from voice_trainer.archive.session_files import reviews_of
from voice_trainer.logbook.entries import SessionEntry
from voice_trainer.logbook.store import Logbook


@dataclass(frozen=True, slots=True)
class CaughtUp:
    """What was entered, removed, and why some journals could not be read, now and before."""

    entered: int
    removed: int
    passed_over: dict[str, str]


def catch_up(logbook: Logbook, *, most: int | None = None, anew: bool = False) -> CaughtUp:
    """Enter every session of the journals' folder whose journal, or reviews, are new or have changed.

    `anew`: every one. Sessions that still run wait until they are over. At most `most` are entered, the newest first.
    Raises LogbookError.
    """
    known = logbook.fingerprints()
    there = dict(_journals())
    gone = [session for session in known if session not in there]
    if gone:
        logbook.remove(*gone)
    changed = [session for session in there if anew or known.get(session) != fingerprint_of(there[session])]
    entered = 0
    for session in [*reversed(changed)][:most]:
        entered += enter(logbook, session, there[session])
    return CaughtUp(entered, len(gone), logbook.passed_over())


def enter(logbook: Logbook, session: str, journal: Path) -> bool:
    """Enter one session, if it is over; whether its journal could be read. Raises LogbookError."""
    before = fingerprint_of(journal)
    try:
        entry = _derived(session, journal)
    except (
        Exception
    ) as problem:  # a journal may have been changed in any way: one must not take the others along
        said = str(problem) if isinstance(problem, (ArchiveError, ValueError)) else f"damaged ({problem!r})"
        why = " ".join(said.split())
        logbook.pass_over(session, before, why if str(journal) in why else f"{journal}: {why}")
        return False
    if entry is None:
        return False
    logbook.enter(entry, before, journal.exists)
    return True


def fingerprint_of(journal: Path) -> str:
    """Tells whether a journal or its reviews changed: sizes and times of the last change; '' where it is gone."""
    parts: list[str] = []
    for path in (journal, reviews_of(journal)):
        try:
            status = path.stat()
        except OSError:
            parts.append("-")
        else:
            parts.append(f"{status.st_size}@{status.st_mtime_ns}")
    return " ".join(parts)


def _derived(session: str, journal: Path) -> SessionEntry | None:
    """What the logbook has of a session; None while it runs, and where it was forgotten meanwhile."""
    # What reads and grades a journal takes half as long to load as 'due' may take; mostly there is nothing to enter.
    from pydantic import ValidationError

    from voice_trainer.archive.journal_file import check_references, is_being_written, read_journal
    from voice_trainer.archive.newer import WHAT_TO_DO, newer_version
    from voice_trainer.archive.review_file import read_reviews
    from voice_trainer.drills.model import Drill
    from voice_trainer.logbook.derivation import entry_of

    try:
        if is_being_written(journal):
            return None
    except FileNotFoundError:
        return None
    except OSError as error:
        raise ArchiveError(
            f"{journal}: the journal can't be read ({error.strerror}); check its permissions"
        ) from error
    kept = read_journal(journal)
    try:
        check_references(journal, kept, Drill.model_validate(kept.header.drill))
        return entry_of(session, kept.header, kept.records, read_reviews(journal))
    except ValidationError as error:
        if why := newer_version(error, kept.header.program):
            raise ArchiveError(f"{journal}: its drill can't be read: {why}; {WHAT_TO_DO}") from error
        raise


def _journals() -> Iterator[tuple[str, Path]]:
    """The sessions in the journals' folder that have a journal, the oldest first."""
    folder = journals_folder()
    for session, paths in kept_sessions().items():
        journal = folder / f"{session}.jsonl"
        if journal in paths:
            yield session, journal
