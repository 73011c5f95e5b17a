"""What sound its user agreed to keep, and when: one small JSON file. Without it nothing is kept."""

from __future__ import annotations

import os
import secrets
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, Literal

from pydantic import ValidationError

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.private_folder import private_folder
from voice_trainer.journal.hearing import Frozen
from voice_trainer.journal.keep import Keep

CONSENT_FORMAT: Final = 1

_ASK_ANEW = "choose again with 'voice-trainer privacy --keep none'"


class Consent(Frozen):
    """One choice. A later one takes its place."""

    consent_format: Literal[1] = CONSENT_FORMAT
    keep: Keep
    chosen_utc: str


def consent_of_today(keep: Keep) -> Consent:
    """A choice that is made now."""
    return Consent(keep=keep, chosen_utc=datetime.now(UTC).isoformat(timespec="seconds"))


def read_consent(path: Path) -> Consent | None:
    """The choice in a file, None where there is no file.

    Raises ArchiveError for what can't be read or understood: it must not be guessed.
    """
    try:
        return Consent.model_validate_json(path.read_bytes())
    except FileNotFoundError:
        return None
    except OSError as error:
        raise ArchiveError(f"{path}: it can't be read ({error.strerror}); {_ASK_ANEW}") from error
    except ValidationError as error:
        raise ArchiveError(f"{path}: it does not say what sound may be kept; {_ASK_ANEW}") from error


def write_consent(path: Path, consent: Consent) -> None:
    """Put a choice in place of an older one, whole or not at all. Raises ArchiveError."""
    temporary = path.with_name(f".{path.name}-{secrets.token_hex(4)}")
    try:
        private_folder(path.parent)
        descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            file.write(consent.model_dump_json(indent=2) + "\n")
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise ArchiveError(
            f"{path}: it can't be written ({error.strerror}); make its folder writable, or set VOICE_TRAINER_HOME to "
            "one that is"
        ) from error
