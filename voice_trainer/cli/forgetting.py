"""`voice-trainer forget`: remove what was kept of sessions."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.instructor_consent_file import note_agreement
from voice_trainer.archive.journal_file import is_being_written, read_header
from voice_trainer.archive.places import (
    data_folder,
    instructor_consent_path,
    journals_folder,
    kept_sessions,
    progress_pages,
)
from voice_trainer.cli.logbook import remove_from_logbook
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.sessions import session_called
from voice_trainer.cli.terminal import console
from voice_trainer.library.errors import quoted
from voice_trainer.logbook.errors import LogbookError


def forget(names: Sequence[str], *, student: str | None, every: bool, agreed: bool) -> int:
    """Remove the sessions called so, those of a student, or all; 1 when the user would rather not.

    A name is that of a session, or enough of its beginning. Raises UsageError, before anything is removed, for one that
    is none or more than one, for one that still runs, for a name beside `every`, and where nobody can be asked and
    `agreed` is not given. Raises LogbookError where all is removed but what the logbook has of it.
    """
    if every and (names or student is not None):
        named = quoted(names[0]) if names else f"--student {quoted(student or '')}"
        raise UsageError(f"--all is every session, not {named} alone; leave one of them out")
    kept = kept_sessions()
    out = console()
    chosen = list(kept) if every else [session_called(name, list(kept)) for name in names]
    if student is not None:
        chosen += _sessions_of(student, kept, out)
    if not chosen:
        if not every:
            raise UsageError("name a session to forget, or a --student, or say --all")
        out.print(f"No session is kept in {journals_folder()}.", markup=False)
        return 0
    chosen = list(dict.fromkeys(chosen))
    for name in chosen:
        if any(path.suffix == ".jsonl" and path.is_file() and is_being_written(path) for path in kept[name]):
            raise UsageError(f"{name} is still running, so nothing was removed; end it first")
    if not agreed and not _agreed(chosen, out):
        return 1
    for name in chosen:
        _remove_recording(journals_folder() / f"{name}.jsonl", out)
        for path in kept[name]:
            _remove(path, out)
    for page in progress_pages():  # they may tell of what was removed, and are soon made again
        if page.exists():
            _remove(page, out)
    try:
        remove_from_logbook(chosen)
    except LogbookError as problem:
        raise LogbookError(f"removed, but not from the logbook yet: {problem}") from problem
    if student is not None:
        note_agreement(instructor_consent_path(), student, agrees=False)
    return 0


def _remove(path: Path, out: Console) -> None:
    """A file, a folder with all in it, or a link, but never what the link leads to."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
    out.print(f"removed {path}", markup=False)


def _remove_recording(journal: Path, out: Console) -> None:
    """What `run --record` made in this session, if it lies in the data folder; elsewhere it is the user's own."""
    try:
        recording = Path(read_header(journal).recording).resolve()
    except ArchiveError:
        return
    if recording.suffix.lower() != ".wav" or not recording.is_file():
        return
    if recording.is_relative_to(data_folder().resolve()):
        _remove(recording, out)
    else:
        out.print(
            f"left {recording}, a recording outside of {data_folder()}: it is yours to remove", markup=False
        )


def _sessions_of(student: str, kept: dict[str, tuple[Path, ...]], out: Console) -> list[str]:
    """The sessions whose journals say that they are this student's. Raises UsageError where there are none."""
    found: list[str] = []
    for name in kept:
        journal = journals_folder() / f"{name}.jsonl"
        try:
            if read_header(journal).student.casefold() == student.casefold():
                found.append(name)
        except ArchiveError as problem:
            out.print(f"passed over: {problem}", markup=False)
    if not found:
        raise UsageError(
            f"no session of {quoted(student)} is kept in {journals_folder()}; 'run --student' names them"
        )
    return found


def _agreed(sessions: Sequence[str], out: Console) -> bool:
    if not sys.stdin.isatty():
        raise UsageError("nothing was removed: without a terminal to ask at, say --yes")
    for name in sessions:
        out.print(name, markup=False)
    return out.input("Remove these for good? [y/N] ", markup=False).strip().lower() in ("y", "yes")
