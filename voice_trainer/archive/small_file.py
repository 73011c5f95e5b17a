"""A small file in the data folder, put in place whole or not at all, readable by its owner only."""

from __future__ import annotations

from pathlib import Path

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.private_folder import private_folder
from voice_trainer.outputs.writing import write_whole


def write_small_file(path: Path, text: str) -> None:
    """Write `text` in place of what was there. Raises ArchiveError."""
    try:
        private_folder(path.parent)
        write_whole(path, text.encode("utf-8"), mode=0o600)
    except OSError as error:
        raise ArchiveError(
            f"{path}: it can't be written ({error.strerror}); make its folder writable, or set VOICE_TRAINER_HOME to "
            "one that is"
        ) from error
