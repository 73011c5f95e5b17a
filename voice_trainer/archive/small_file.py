"""A small file in the data folder, put in place whole or not at all, readable by its owner only."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.private_folder import private_folder


def write_small_file(path: Path, text: str) -> None:
    """Write `text` in place of what was there. Raises ArchiveError."""
    temporary = path.with_name(f".{path.name}-{secrets.token_hex(4)}")
    try:
        private_folder(path.parent)
        descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            file.write(text)
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise ArchiveError(
            f"{path}: it can't be written ({error.strerror}); make its folder writable, or set VOICE_TRAINER_HOME to "
            "one that is"
        ) from error
