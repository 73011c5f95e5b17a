"""A folder of recorded calls: WAV files, and `manifest.jsonl` with a line for each, in the order of recording.

    {"file": "anonymous-0001.wav", "said": "gear down", "speaker": "anonymous", "condition": "as recorded"}

`file` is relative to the folder; `said` are the words that were to be said; "drill" is there for a drill's call,
"expect" where the words are a pattern's: with its values, as `voice-trainer hear` takes it, and its "region" where that
is not the usual one. "heard" is what a recogniser clearly heard instead, if one was asked. Of a recording in place of
a microphone "source" is the SHA-256, and "source_end_seconds" the place in it up to which this call goes.

A line is written once its file is whole, and at once, so that a run may end anywhere and go on later.
"""

from __future__ import annotations

import os
import re
from collections import Counter
from pathlib import Path

from pydantic import BaseModel, ConfigDict, ValidationError

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.private_folder import private_folder

MANIFEST = "manifest.jsonl"

_BEGINNING = b'{"file":'
"""Every line that is written here begins so."""


class Recording(BaseModel):
    """One line of the manifest. What others may have added to a line is left alone."""

    model_config = ConfigDict(frozen=True, extra="allow")

    file: str
    said: str
    speaker: str = "anonymous"
    condition: str = "as recorded"
    drill: str | None = None
    expect: str | None = None
    region: str | None = None
    heard: str | None = None
    source: str | None = None
    source_end_seconds: float | None = None


class CorpusFolder:
    """A folder that recordings are added to; it, and all in it, is for its owner only."""

    def __init__(self, folder: Path) -> None:
        """Make the folder, or go on with one that is there. Raises ArchiveError."""
        self.folder = folder
        self._manifest = folder / MANIFEST
        if folder.exists() and not folder.is_dir():
            raise ArchiveError(
                f"{folder}: recordings can't be kept there (not a folder); name another folder"
            )
        try:
            private_folder(folder)
            if self._manifest.exists() and not self._manifest.is_file():
                raise ArchiveError(f"{self._manifest}: not a file; remove it, or name another folder")
            content = self._manifest.read_bytes() if self._manifest.exists() else b""
        except OSError as error:
            raise ArchiveError(
                f"{folder}: recordings can't be kept there ({error.strerror}); name another folder"
            ) from error
        self.recordings = self._read(content)

    def lacking(self, wanted: list[tuple[str, str, str]]) -> list[int]:
        """Which of the wanted (said, speaker, condition) are not recorded yet, by their index."""
        have = Counter((each.said, each.speaker, each.condition) for each in self.recordings)
        missing: list[int] = []
        for index, key in enumerate(wanted):
            if have[key]:
                have[key] -= 1
            else:
                missing.append(index)
        return missing

    def end_in(self, source: str, speaker: str, condition: str) -> float:
        """Up to where a recording (by its SHA-256) has been cut into prompts, in seconds; 0 for a new one."""
        ends = (
            each.source_end_seconds or 0.0
            for each in self.recordings
            if (each.source, each.speaker, each.condition) == (source, speaker, condition)
        )
        return max(ends, default=0.0)

    def new_file(self, speaker: str) -> Path:
        """A name for the next recording; no file of this name is there, and no line names one."""
        stem = re.sub(r"[^a-z0-9]+", "-", speaker.lower()).strip("-")[:40] or "speaker"
        taken = {each.file for each in self.recordings}
        number = len(self.recordings) + 1
        while (name := f"{stem}-{number:04d}.wav") in taken or (self.folder / name).exists():
            number += 1
        return self.folder / name

    def add(self, recording: Recording) -> None:
        """Write the line of a file that is whole. Raises ArchiveError."""
        line = (recording.model_dump_json(exclude_none=True) + "\n").encode("utf-8")
        try:
            flags = os.O_WRONLY | os.O_CREAT | os.O_APPEND | os.O_CLOEXEC
            descriptor = os.open(self._manifest, flags, 0o600)
            try:
                _write_line(descriptor, line)
            finally:
                os.close(descriptor)
        except OSError as error:
            raise ArchiveError(
                f"{self._manifest}: can't be written ({error.strerror}); make room, then go on"
            ) from error
        self.recordings.append(recording)

    def _read(self, content: bytes) -> list[Recording]:
        *lines, last = content.split(b"\n")
        found = []
        for number, line in enumerate(lines, start=1):
            if line.strip():
                found.append(self._recording(line, number))
        if last:
            try:
                found.append(self._recording(last, len(lines) + 1))
                self._mend(len(content), b"\n")
            except ArchiveError:
                if not (_BEGINNING.startswith(last) or last.startswith(_BEGINNING)):
                    raise  # somebody else's file, and nothing of it is ours to cut off
                # Half a line is what a full disk leaves; its recording is made again.
                self._mend(len(content) - len(last), b"")
        return found

    def _recording(self, line: bytes, number: int) -> Recording:
        try:
            return Recording.model_validate_json(line)
        except ValidationError as error:
            first = error.errors(include_url=False, include_context=False, include_input=False)[0]
            raise ArchiveError(
                f"{self._manifest}:{number}: not a recording's line ({first['msg']}); mend it, or name another folder"
            ) from error

    def _mend(self, size: int, end: bytes) -> None:
        try:
            with self._manifest.open("r+b") as file:
                file.truncate(size)
                file.seek(0, os.SEEK_END)
                file.write(end)
        except OSError as error:
            raise ArchiveError(
                f"{self._manifest}: can't be written ({error.strerror}); make it writable"
            ) from error


def _write_line(descriptor: int, line: bytes) -> None:
    """Append a line, or nothing of it: half a line would swallow the next that fits. Raises OSError."""
    size, left = os.fstat(descriptor).st_size, memoryview(line)
    try:
        while left:
            left = left[os.write(descriptor, left) :]
        os.fdatasync(descriptor)
    except OSError:
        os.ftruncate(descriptor, size)
        raise
