"""Which questions of the first run were settled on this machine, so that each is asked once."""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Iterable
from pathlib import Path

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.journal_file import private_folder

FIRST_RUN_FORMAT = 1


def settled_questions(path: Path) -> frozenset[str]:
    """The names of the questions that were settled. A file that can't be understood settles none: they are asked again.

    Raises ArchiveError where there is a file that can't be read.
    """
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return frozenset()
    except OSError as error:
        raise ArchiveError(
            f"{path}: it can't be read ({error.strerror}); make it readable, or delete it"
        ) from error
    try:
        fields = json.loads(content)
    except ValueError:
        return frozenset()
    names = fields.get("settled") if isinstance(fields, dict) else None
    return (
        frozenset(name for name in names if isinstance(name, str)) if isinstance(names, list) else frozenset()
    )


def settle_question(path: Path, name: str) -> None:
    """Note that a question was settled, whole or not at all. Raises ArchiveError."""
    _write(path, sorted(settled_questions(path) | {name}))


def _write(path: Path, names: Iterable[str]) -> None:
    temporary = path.with_name(f".{path.name}-{secrets.token_hex(4)}")
    try:
        private_folder(path.parent)
        descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            json.dump({"first_run_format": FIRST_RUN_FORMAT, "settled": list(names)}, file, indent=2)
            file.write("\n")
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise ArchiveError(
            f"{path}: it can't be written ({error.strerror}); make its folder writable, or set VOICE_TRAINER_HOME to "
            "one that is"
        ) from error
