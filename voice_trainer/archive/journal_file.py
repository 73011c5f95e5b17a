"""Journals as files: JSON Lines, the header first, one record a line, flushed as it happens.

A record is *kept* once `JournalWriter.append` has returned: its line went to the operating system in one
`write`, with no buffer of ours between, so that whatever then becomes of this process (an exception, a kill)
the line is in the file. Against a power cut only the disk itself helps: see `JournalWriter.append`.

Reading is strict about everything but the end. A last line that was cut off is what a power cut or a full
disk leaves; it is reported in `Journal.torn`, and the rest is read. (A part of a JSON object is never a JSON
object, RFC 8259: a line is cut off exactly when it can't be read.)
"""

from __future__ import annotations

import fcntl
import os
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

from pydantic import ValidationError
from pydantic_core import from_json

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.newer import WHAT_TO_DO, newer_version
from voice_trainer.archive.private_folder import private_folder
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import JOURNAL_FORMAT, AnyDecision, AnyFact, Header, from_line, to_line
from voice_trainer.journal.references import unknown_reference_finder

SECONDS_BETWEEN_SYNCS = 1.0
SLOW_SYNC_SECONDS = 0.02
"""A disk that takes longer than this to confirm what it holds is not asked again before the end: the thread
that writes the journal is the one that must be there for the next 32 ms block of the microphone."""


MOST_BYTES = 256 << 20

WHICH_TO_READ = "check its name and permissions, or leave the name out to read the latest"


@dataclass(frozen=True, slots=True)
class Journal:
    """What a journal file holds; `torn` is the beginning of a last line that was cut off, if one was."""

    header: Header
    records: tuple[AnyFact | AnyDecision, ...]
    torn: str | None = None


class JournalWriter:
    """Writes one new journal.

    The file is made readable by its owner only (mode 0600), as is the folder if it is not there yet (0700). A
    file that exists is never written over. Raises ArchiveError when it can't be made.
    """

    def __init__(self, path: Path, header: Header) -> None:
        self.path = path
        self._size = 0
        self._unsynced = False
        self._sync_often = True
        self._synced_at = time.monotonic()
        if path.exists():
            raise ArchiveError(f"{path}: there is a journal of this name; choose another name")
        try:
            private_folder(path.parent)
            flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_APPEND | os.O_CLOEXEC
            self._descriptor: int | None = os.open(path, flags, 0o600)
            with suppress(OSError):  # a file system without locks: nobody knows that the session runs
                fcntl.flock(self._descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise ArchiveError(
                f"{path}: the journal can't be made ({error.strerror}); make its folder writable, or set "
                "VOICE_TRAINER_HOME to one that is"
            ) from error
        try:
            self.append(header)
        except ArchiveError:
            self.close()
            # An empty file would be taken for the latest session.
            with suppress(OSError):
                path.unlink()
            raise

    def append(self, record: Header | AnyFact | AnyDecision) -> None:
        """Add one record. When this returns, the record survives the end of this process.

        Once a second the disk is asked to confirm (`fdatasync`, in this thread), so that a power cut costs a
        second at most. Where the disk is slow to answer that is left out until `close`, and a power cut costs
        what the operating system had not written by itself, some seconds more.

        Raises ArchiveError when the line can't be written: the file is then as it was before.
        """
        try:
            line = (to_line(record) + "\n").encode("utf-8")
        except ValueError as error:
            raise ArchiveError(f"{self.path}: a record is not JSON: {_first_line(error)}") from error
        try:
            self._write(line)
            self._sync_when_due()
        except OSError as error:
            raise ArchiveError(
                f"{self.path}: the journal can't be written ({error.strerror}); what was written before is "
                "safe, make room on the disk"
            ) from error

    def close(self) -> None:
        """Confirm everything on the disk, and release the file; closing again does nothing.

        Raises ArchiveError when the disk could not keep what it had taken.
        """
        if self._descriptor is None:
            return
        descriptor, self._descriptor = self._descriptor, None
        try:
            if self._unsynced:
                os.fdatasync(descriptor)
        except OSError as error:
            raise ArchiveError(
                f"{self.path}: the disk lost the end of the journal ({error.strerror}); look after the disk"
            ) from error
        finally:
            os.close(descriptor)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _write(self, line: bytes) -> None:
        if self._descriptor is None:
            raise ArchiveError(f"{self.path}: the journal is closed; nothing more can be added")
        left = memoryview(line)
        try:
            while left:
                left = left[os.write(self._descriptor, left) :]
        except OSError:
            if len(left) < len(line):
                self._take_back()
            raise
        self._size += len(line)
        self._unsynced = True

    def _take_back(self) -> None:
        """Cut off half a line, which would swallow the next that fits; where that fails, write no more."""
        assert self._descriptor is not None
        try:
            os.ftruncate(self._descriptor, self._size)
        except OSError:
            os.close(self._descriptor)
            self._descriptor = None
            raise

    def _sync_when_due(self) -> None:
        began = time.monotonic()
        due = self._sync_often and began >= self._synced_at + SECONDS_BETWEEN_SYNCS
        if self._descriptor is None or not due:
            return
        os.fdatasync(self._descriptor)
        self._unsynced = False
        self._synced_at = time.monotonic()
        self._sync_often = self._synced_at - began <= SLOW_SYNC_SECONDS


def is_being_written(path: Path) -> bool:
    """Whether a session that writes this journal is still running, in whatever process. Raises OSError."""
    with path.open("rb") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_SH | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
    return False


def read_journal(path: Path) -> Journal:
    """The journal in a file.

    Raises ArchiveError when there is no such file, when it is not a journal, when it was written by a newer
    version, or when a line other than a cut-off last one can't be read.
    """
    try:
        if path.exists() and not path.is_file():
            raise ArchiveError(
                f"{path}: the journal can't be read (not a file); name one, such as session.jsonl"
            )
        if path.exists() and path.stat().st_size > MOST_BYTES:
            raise ArchiveError(
                f"{path}: larger than {MOST_BYTES >> 20} MiB; no session writes so much, name another"
            )
        content = path.read_bytes()
    except OSError as error:
        raise ArchiveError(
            f"{path}: the journal can't be read ({error.strerror}); {WHICH_TO_READ}"
        ) from error
    if not content:
        raise ArchiveError(f"{path}: the file is empty; the session ended before it began")
    lines = content.split(b"\n")
    last = lines.pop()
    header = _header(path, lines[0] if lines else last)
    program = header.program
    records = [_record(path, number, line, program) for number, line in enumerate(lines[1:], start=2)]
    if not lines or not last:
        return Journal(header, tuple(records))
    try:
        return Journal(header, (*records, _record(path, len(lines) + 1, last, program)))
    except ArchiveError:
        return Journal(header, tuple(records), torn=last.decode("utf-8", errors="replace"))


def check_references(path: Path, journal: Journal, drill: Drill) -> None:
    """Raises ArchiveError for a record that names a step or a call which the journal's own drill does not have."""
    unknown_in = unknown_reference_finder(drill)
    for number, record in enumerate(journal.records, start=2):
        if unknown := unknown_in(record):
            raise ArchiveError(
                f"{path}:{number}: this line of the journal is damaged: {' '.join(unknown.split())}; it was changed "
                "after it was written, so the session can't be graded again"
            )


def read_header(path: Path) -> Header:
    """The first line of a journal. Raises ArchiveError as `read_journal` does."""
    try:
        with path.open("rb") as file:
            line = file.readline(MOST_BYTES)
    except OSError as error:
        raise ArchiveError(
            f"{path}: the journal can't be read ({error.strerror}); {WHICH_TO_READ}"
        ) from error
    return _header(path, line)


def _header(path: Path, line: bytes) -> Header:
    not_one = f"{path}: this is not a journal of voice_trainer; a journal's first line is its header"
    try:
        fields = from_json(line)
    except ValueError as error:
        raise ArchiveError(not_one) from error
    if not isinstance(fields, dict) or fields.get("event") != "header":
        raise ArchiveError(not_one)
    version = fields.get("journal_format")
    if isinstance(version, int) and version > JOURNAL_FORMAT:
        raise ArchiveError(
            f"{path}: journal format {version} is newer than this program, which reads up to "
            f"{JOURNAL_FORMAT}; update voice_trainer to read it"
        )
    try:
        header = from_line(line)
    except ValidationError as error:
        if why := newer_version(error, str(fields.get("program", ""))):
            raise ArchiveError(f"{path}:1: the journal can't be read: {why}; {WHAT_TO_DO}") from error
        raise ArchiveError(
            f"{path}:1: the header of the journal is damaged ({_first_line(error)}); "
            "it was changed after it was written, so the session can't be graded again"
        ) from error
    assert isinstance(header, Header)
    return header


def _record(path: Path, number: int, line: bytes, program: str) -> AnyFact | AnyDecision:
    try:
        record = from_line(line)
    except ValidationError as error:
        if why := newer_version(error, program):
            raise ArchiveError(f"{path}:{number}: the journal can't be read: {why}; {WHAT_TO_DO}") from error
        raise ArchiveError(
            f"{path}:{number}: this line of the journal is damaged: {_first_line(error)}; it was changed "
            "after it was written, so the session can't be graded again"
        ) from error
    if isinstance(record, Header):
        raise ArchiveError(f"{path}:{number}: a second header; two journals were joined, separate them here")
    return record


def _first_line(error: ValueError) -> str:
    """The first of pydantic's complaints, without its frame; or any other error's first line."""
    if isinstance(error, ValidationError):
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        return f"{where}: {first['msg']}" if where else first["msg"]
    return str(error).splitlines()[0]
