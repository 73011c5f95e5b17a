"""Which questions of the first run were settled on this machine, so that each is asked once."""

from __future__ import annotations

import json
from pathlib import Path

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.small_file import write_small_file

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
    settled = sorted(settled_questions(path) | {name})
    write_small_file(
        path, json.dumps({"first_run_format": FIRST_RUN_FORMAT, "settled": settled}, indent=2) + "\n"
    )
