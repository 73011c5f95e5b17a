"""What onnxruntime kept for its maker while earlier versions of this program let it: removed, once.

These are reports that were never sent, and a number for this machine. Other programs of the user may let onnxruntime
report: what they make afterwards is theirs, so it is not looked for a second time.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import platformdirs

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.places import data_folder
from voice_trainer.archive.small_file import write_small_file

FOLDER = ("Microsoft", "DeveloperTools", ".onnxruntime")
"""Below the user's cache folder. The first two may hold what others made."""

DATABASE = "onnxruntime.db"
FILES = (
    "deviceid",
    "deviceid.lock",
    *(f"{DATABASE}{end}" for end in ("", "-journal", "-wal", "-shm", ".ses")),
)


def remove_reports_of_onnxruntime() -> None:
    """Remove them, and the folders that are empty then; whatever else is there stays."""
    folder = platformdirs.user_cache_path().joinpath(*FOLDER)
    if not folder.is_dir() or folder.is_symlink():
        return
    with suppress(OSError, ArchiveError):
        done = data_folder() / "onnxruntime-reports-removed"
        if done.exists():
            return
        for name in FILES:
            (folder / name).unlink(missing_ok=True)
        _remove_empty(folder)
        write_small_file(done, "What onnxruntime had kept below the cache folder was removed.\n")


def _remove_empty(folder: Path) -> None:
    with suppress(OSError):  # somebody else's files are in it
        for each in (folder, *folder.parents[: len(FOLDER) - 1]):
            each.rmdir()
