"""A session by the name that a user gives: a journal's file, its name, or enough of the beginning of it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from voice_trainer.archive.journal_file import is_being_written
from voice_trainer.archive.places import journals_folder, kept_sessions, latest_journal
from voice_trainer.cli.problems import UsageError
from voice_trainer.library.errors import quoted


def session_called(name: str, known: Sequence[str]) -> str:
    """The one of `known` sessions that is called so. Raises UsageError for none, and for more than one."""
    asked = name.removesuffix(".jsonl")
    found = [each for each in known if each == asked] or [
        each for each in known if asked and each.startswith(asked)
    ]
    if len(found) > 1:
        raise UsageError(
            f"{quoted(name)} may be {len(found)} sessions, {found[0]} and others: give more of the name"
        )
    if not found:
        newest = f"; the newest is {known[-1]}" if known else ""
        raise UsageError(f"{quoted(name)} is no session in {journals_folder()}{newest}")
    return found[0]


def named_journal(name: str) -> Path:
    """The journal that is called so: a file, there or not, or a session of the data folder. Raises UsageError."""
    path = Path(name)
    if len(path.parts) > 1 or path.suffix == ".jsonl" or path.exists():
        return path
    return journals_folder() / f"{session_called(name, list(kept_sessions()))}.jsonl"


def finished_journal(name: str | None) -> Path:
    """The journal of a session that is over: a file, or one of the data folder's by name, the latest without one.

    Raises UsageError.
    """
    if name is None:
        path = latest_journal()
        if path is None:
            raise UsageError("there is no session yet: run a drill first (voice-trainer run DRILL)")
    elif Path(name).is_file():
        path = Path(name)
    else:
        path = journals_folder() / f"{session_called(name, list(kept_sessions()))}.jsonl"
    if path.is_file() and is_being_written(path):
        raise UsageError(f"{path.stem} is still running; end it first")
    return path
