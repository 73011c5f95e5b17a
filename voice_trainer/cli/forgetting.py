"""`voice-trainer forget`: remove what was kept of sessions."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from rich.console import Console

from voice_trainer.archive.places import journals_folder, kept_sessions
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.terminal import console
from voice_trainer.library.errors import quoted


def forget(names: Sequence[str], *, every: bool, agreed: bool) -> int:
    """Remove the sessions called so, or all; 1 when the user would rather not.

    A name is that of a session, or enough of its beginning. Raises UsageError, before anything is removed, for one that
    is none or more than one, and where nobody can be asked and `agreed` is not given.
    """
    kept = kept_sessions()
    chosen = list(kept) if every else [_session(name, list(kept)) for name in names]
    out = console()
    if not chosen:
        if not every:
            raise UsageError("name a session to forget, or say --all")
        out.print(f"No session is kept in {journals_folder()}.", markup=False)
        return 0
    if not agreed and not _agreed(dict.fromkeys(chosen), out):
        return 1
    for name in dict.fromkeys(chosen):
        for file in kept[name]:
            file.unlink(missing_ok=True)
            out.print(f"removed {file}", markup=False)
    return 0


def _session(name: str, known: Sequence[str]) -> str:
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


def _agreed(sessions: dict[str, None], out: Console) -> bool:
    if not sys.stdin.isatty():
        raise UsageError("nothing was removed: without a terminal to ask at, say --yes")
    for name in sessions:
        out.print(name, markup=False)
    return out.input("Remove these for good? [y/N] ", markup=False).strip().lower() in ("y", "yes")
