"""Whether a file may be written where somebody wants it: found out before any work is done for it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from voice_trainer.outputs.errors import OutputError
from voice_trainer.outputs.kinds import Kind
from voice_trainer.outputs.refusals import advice_for, why

_LONGEST_QUOTE = 60


def check_output(option: str, path: Path, kind: Kind) -> None:
    """Refuse what could not be written there, or must not be. Raises OutputError, whose line begins with `option`."""
    where = f"{option}: " if option else ""
    try:
        _refuse_ending(where, path, kind)
        _refuse_place(where, path)
        refuse_what_is_there(where, path, kind)
    except OSError as error:
        raise OutputError(f"{where}{path}: can't be written ({why(error)}); {advice_for(error)}") from error


def refuse_what_is_there(where: str, path: Path, kind: Kind) -> None:
    """Nothing is written over what is no file of this kind made by us. Raises OutputError and OSError."""
    if path.is_dir():
        raise OutputError(f"{where}{path} is a folder; name a file in it")
    if not path.exists():
        return
    if not path.is_file():
        raise OutputError(f"{where}{path} is no file; name one")
    if kind.mark is None:
        raise OutputError(f"{where}{path} is there already; name another file, or move it away")
    with suppress(PermissionError):  # what can't be read is not known to be ours
        if kind.made(path):
            return
    raise OutputError(f"{where}{path} is there already and {kind.is_none}; name another file")


def _refuse_ending(where: str, path: Path, kind: Kind) -> None:
    if path.suffix.lower() in kind.endings or not kind.endings:
        return
    name = ascii(str(path))[1:-1] if not str(path).isprintable() else str(path)
    name = name if len(name) <= _LONGEST_QUOTE else f"…{name[1 - _LONGEST_QUOTE :]}"
    raise OutputError(
        f"{where}'{name}' does not end in {_either(kind.endings)}; name a file such as {kind.example}"
    )


def _refuse_place(where: str, path: Path) -> None:
    with suppress(FileNotFoundError, NotADirectoryError):
        path.stat()  # raises for a name that is too long, and for links that lead in a circle
    folder = path.resolve().parent
    if not folder.is_dir():
        raise OutputError(f"{where}there is no folder {path.parent}; make it, or name another")
    if not os.access(folder, os.W_OK | os.X_OK, effective_ids=os.access in os.supports_effective_ids):
        raise OutputError(f"{where}nothing can be written into {folder}; name a file in another folder")


def _either(endings: Sequence[str]) -> str:
    *first, last = endings
    return f"{', '.join(first)} or {last}" if first else last
