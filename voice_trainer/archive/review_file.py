"""The review log beside a journal: a line for every overruling, only ever added to, readable by its owner only."""

from __future__ import annotations

import os
from pathlib import Path

from pydantic import ValidationError

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.session_files import reviews_of
from voice_trainer.journal.reviewing import Overruling


def read_reviews(journal: Path) -> tuple[Overruling, ...]:
    """What was overruled in a session, in order; nothing where there is no log.

    A line that was cut off by a power cut or a full disk is passed over; a part of a JSON object is never one (RFC
    8259).
    Raises ArchiveError for a log that can't be read, and for a line that is whole and no overruling.
    """
    path = reviews_of(journal)
    try:
        lines = path.read_bytes().split(b"\n")
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise ArchiveError(
            f"{path}: the reviews can't be read ({error.strerror}); make it readable"
        ) from error
    found: list[Overruling] = []
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            found.append(Overruling.model_validate_json(line))
        except ValidationError as error:
            first = error.errors(include_url=False, include_context=False, include_input=False)[0]
            if first["type"] == "json_invalid":
                continue
            raise ArchiveError(
                f"{path}:{number}: this line of the reviews is damaged ({first['msg']}); mend or remove it"
            ) from error
    return tuple(found)


def add_review(journal: Path, overruling: Overruling) -> None:
    """Write one overruling behind those that are there, and onto the disk. Raises ArchiveError."""
    path = reviews_of(journal)
    line = (overruling.model_dump_json() + "\n").encode("utf-8")
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_CLOEXEC, 0o600)
        try:
            size = os.fstat(descriptor).st_size
            if size and os.pread(descriptor, 1, size - 1) != b"\n":
                line = b"\n" + line  # half a line must not swallow this one
            if os.write(descriptor, line) != len(line):
                raise ArchiveError(
                    f"{path}: the review was cut off; make room on the disk, and give it again"
                )
            os.fdatasync(descriptor)
        finally:
            os.close(descriptor)
    except OSError as error:
        raise ArchiveError(
            f"{path}: the review can't be written ({error.strerror}); make its folder writable, or make room"
        ) from error
