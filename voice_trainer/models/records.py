"""What is remembered of models: `models.json` in the user's data folder.

Of an archive: the checksum that it had when it was first fetched. It stays when the model is removed, so that
what is fetched years later must still be the same. Of an installed model: its files with their sizes, and the
hash of all their content.
"""

from __future__ import annotations

import os
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from voice_trainer.archive.private_folder import private_folder
from voice_trainer.models.errors import ModelError, of_the_disk

FILE_NAME = "models.json"
SHA256 = r"^[0-9a-f]{64}$"


class ArchiveRecord(BaseModel):
    """An archive as it was when it was first fetched."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    sha256: str = Field(pattern=SHA256)
    size_bytes: int
    url: str
    first_fetched_utc: str


class InstalledRecord(BaseModel):
    """A model as it was when it was installed; `files` are sizes in bytes by path below the model's folder."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    content_hash: str = Field(pattern=SHA256)
    files: dict[str, int]
    source: str
    installed_utc: str


class _Content(BaseModel):
    model_config = ConfigDict(extra="forbid")

    format: int = Field(default=1, ge=1, le=1)
    archives: dict[str, ArchiveRecord] = {}
    """By the model's name: an archive must be the same wherever it is fetched from."""
    installed: dict[str, InstalledRecord] = {}
    """By the model's folder: relative to the data folder if it is in there, absolute if not."""


class Records:
    """The records in `data_folder`; read once, written whole at every change.

    Raises ModelError where the file is there and can't be understood: what it knew must not be forgotten in
    silence.
    """

    def __init__(self, data_folder: Path) -> None:
        self._data_folder = data_folder
        self.path = data_folder / FILE_NAME
        try:
            self._content = _Content.model_validate_json(self.path.read_bytes())
        except FileNotFoundError:
            self._content = _Content()
        except OSError as error:
            raise ModelError(
                f"{self.path}: the record of models can't be read ({error.strerror}); make it readable"
            ) from error
        except ValidationError as error:
            raise ModelError(
                f"{self.path}: the record of models is damaged; restore it, or move it away: then the checksums "
                "of models that were fetched are no longer known"
            ) from error

    def archive(self, name: str) -> ArchiveRecord | None:
        """The archive that was first fetched under this name."""
        return self._content.archives.get(name)

    def installed(self, folder: Path) -> InstalledRecord | None:
        """What was installed in `folder`."""
        return self._content.installed.get(self._key(folder))

    def keep(self, folder: Path, record: InstalledRecord, archive: tuple[str, ArchiveRecord] | None) -> None:
        """Record an installed model, and the archive that it came from, if it was fetched. Raises ModelError."""
        self._content.installed[self._key(folder)] = record
        if archive is not None:
            self._content.archives.setdefault(*archive)
        self._save()

    def forget(self, folder: Path) -> None:
        """Drop what was installed in `folder`; archives stay. Raises ModelError."""
        if self._content.installed.pop(self._key(folder), None) is not None:
            self._save()

    def _key(self, folder: Path) -> str:
        whole, home = folder.resolve(), self._data_folder.resolve()
        return whole.relative_to(home).as_posix() if whole.is_relative_to(home) else str(whole)

    def _save(self) -> None:
        text = self._content.model_dump_json(indent=2) + "\n"
        new: str | None = None
        try:
            private_folder(self._data_folder)
            descriptor, new = tempfile.mkstemp(prefix=".models-", dir=self._data_folder)
            with os.fdopen(descriptor, "w", encoding="utf-8") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            Path(new).replace(self.path)
        except OSError as error:
            if new is not None:
                Path(new).unlink(missing_ok=True)
            raise of_the_disk(self.path, error) from error


def now_utc() -> str:
    """The time of a record."""
    return datetime.now(UTC).isoformat(timespec="seconds")
