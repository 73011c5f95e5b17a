"""Which students have agreed that an instructor sees how they get on, and when: one small JSON file.

It is no part of the logbook, which can be made anew from the journals: an agreement can't.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Final, Literal

from pydantic import ValidationError

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.small_file import write_small_file
from voice_trainer.journal.hearing import Frozen

INSTRUCTOR_CONSENT_FORMAT: Final = 1

_ASK_ANEW = "delete it, and let each student choose again with 'voice-trainer logbook consent NAME yes'"


class Agreed(Frozen):
    """Somebody who has agreed. Whoever has not is not in the file."""

    student: str
    agreed_utc: str


class _Agreements(Frozen):
    instructor_consent_format: Literal[1] = INSTRUCTOR_CONSENT_FORMAT
    agreed: tuple[Agreed, ...] = ()


def read_agreements(path: Path) -> tuple[Agreed, ...]:
    """Everybody who has agreed, by name; nobody where there is no file.

    Raises ArchiveError for what can't be read or understood: it must not be guessed.
    """
    try:
        return _Agreements.model_validate_json(path.read_bytes()).agreed
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise ArchiveError(f"{path}: it can't be read ({error.strerror}); {_ASK_ANEW}") from error
    except ValidationError as error:
        raise ArchiveError(f"{path}: it does not say who has agreed; {_ASK_ANEW}") from error


def note_agreement(path: Path, student: str, *, agrees: bool) -> None:
    """Note that a student agrees, or no longer does, whole or not at all; 'Anna' and 'anna' are one.

    Raises ArchiveError.
    """
    known = read_agreements(path)
    others = [each for each in known if each.student.casefold() != student.casefold()]
    if not agrees and len(others) == len(known):
        return
    now = datetime.now(UTC).isoformat(timespec="seconds")
    new = [Agreed(student=student, agreed_utc=now)] if agrees else []
    agreed = tuple(sorted([*others, *new], key=lambda each: each.student.casefold()))
    write_small_file(path, _Agreements(agreed=agreed).model_dump_json(indent=2) + "\n")
