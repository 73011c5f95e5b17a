"""Recordings in files: any WAV (or FLAC, OGG, AIFF) in, 16 kHz mono WAV out.

A recording that can't be what its owner thinks it is, is refused with a line that says why: an exercise that
is graded on half a file would be worse than none.
"""

from __future__ import annotations

import os
import struct
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import BinaryIO, Self

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.outputs.refusals import advice_for

LOWEST_RATE_HZ = 4_000
"""Below it there is no speech left to recognise (and a broken header often says 1 or 100)."""

HIGHEST_RATE_HZ = 384_000
LONGEST_SECONDS = 3600
"""No session is longer, and a recording is held in memory."""

_READ_AT_ONCE = 1 << 20

_SIZE_UNKNOWN = (0xFFFFFFFF, 0x7FFFFFFF, 0x7FFFF000, 0x7FFFFFFE)
"""What programs that write to a pipe put in place of the size: the data goes on to the end of the file."""

_HEADER_BYTES = 44
_LARGEST_DATA_BYTES = 0xFFFFFFFF - _HEADER_BYTES


def to_pcm(samples: NDArray[np.float32] | NDArray[np.float64]) -> Samples:
    """Float samples, -1 to 1, as 16-bit PCM; what is beyond that range is clipped, not wrapped around."""
    # Before it is scaled, or a float file's absurd values would overflow.
    limited: NDArray[np.float64] = np.clip(samples, -1.0, 1.0).astype(np.float64)
    return np.clip(np.rint(limited * 32768.0), -32768, 32767).astype(np.int16)


def resample(samples: NDArray[np.float32], rate_hz: float) -> NDArray[np.float32]:
    """Mono float samples at `rate_hz`, shape (n,), as they are at SAMPLE_RATE_HZ."""
    if rate_hz == SAMPLE_RATE_HZ:
        return samples
    resampled: NDArray[np.float32] = soxr.resample(samples, rate_hz, SAMPLE_RATE_HZ)
    return resampled


def read_wav(path: Path | str) -> Samples:
    """A recording as mono PCM at 16 kHz, shape (n,): channels are averaged, other rates resampled.

    Raises AudioError, naming the file, when it is missing, empty, a folder, unreadable, no recording, shorter
    than its header says, or has no samples.
    """
    path = Path(path)
    _refuse_what_is_no_file(path)
    promised, present = _wav_data_bytes(path)
    try:
        with soundfile.SoundFile(path) as recording:
            _refuse_impossible(path, recording)
            rate_hz, frames = recording.samplerate, recording.frames
            blocks = recording.blocks(_READ_AT_ONCE, dtype="float32", always_2d=True)
            parts: list[NDArray[np.float32]] = [block.mean(axis=1) for block in blocks]
            mono = np.concatenate(parts) if parts else np.zeros(0, np.float32)
            frame_bytes = _frame_bytes(recording)
    except soundfile.LibsndfileError as error:
        raise _unreadable(path, error, promised, present) from error
    if promised > present:
        if frame_bytes:
            seconds = (promised - present) / frame_bytes / rate_hz
            raise AudioError(_truncated(path, seconds, promised / frame_bytes / rate_hz, "seconds"))
        raise AudioError(_truncated(path, promised - present, promised, "bytes"))
    if len(mono) < frames:
        missing = (frames - len(mono)) / rate_hz
        raise AudioError(_truncated(path, missing, frames / rate_hz, "seconds"))
    if len(mono) == 0:
        raise AudioError(f"{path}: the recording has no samples: record it again")
    if not np.isfinite(mono).all():
        raise AudioError(f"{path}: some of its samples are not numbers: save it again as 16-bit WAV")
    return to_pcm(resample(mono, rate_hz))


def read_stretch(path: Path, start_seconds: float, end_seconds: float) -> Samples:
    """A part of a file that `WavWriter` wrote, shape (n,); what is beyond its end is left out. Raises AudioError."""
    first, last = round(start_seconds * SAMPLE_RATE_HZ), round(end_seconds * SAMPLE_RATE_HZ)
    try:
        with soundfile.SoundFile(path) as recording:
            first = min(max(0, first), recording.frames)
            recording.seek(first)
            part: Samples = recording.read(max(0, last - first), dtype="int16")
    except soundfile.LibsndfileError as error:
        raise AudioError(f"{path}: not a recording that can be read ({_reason(error)}): delete it") from error
    return part


def check_recording(path: Path | str) -> None:
    """Find out at once, by its header, whether `read_wav` can't read a file. Raises AudioError as it does."""
    path = Path(path)
    _refuse_what_is_no_file(path)
    try:
        with soundfile.SoundFile(path) as recording:
            _refuse_impossible(path, recording)
    except soundfile.LibsndfileError as error:
        raise _unreadable(path, error, *_wav_data_bytes(path)) from error


def write_wav(path: Path | str, samples: Samples) -> None:
    """Write mono PCM at 16 kHz as a WAV file. Raises AudioError when the file can't be written."""
    with WavWriter(path) as writer:
        writer.append(samples)


def wav_bytes(samples: Samples) -> bytes:
    """The whole of a WAV file of mono PCM at 16 kHz. Raises AudioError for more than such a file holds."""
    data = np.ascontiguousarray(samples, dtype="<i2").tobytes()
    if len(data) > _LARGEST_DATA_BYTES:
        raise AudioError("a WAV file holds no more than 4 GiB")
    return _header(len(data)) + data


class WavWriter:
    """A WAV file (mono, 16 bit, 16 kHz) that grows block by block.

    The header is brought up to date after every block, so the file is whole whenever the process dies. With
    `private`, only its owner may read it. With `new` no file may be there yet, and none is left on a disk that has no
    room for the first of the sound. Raises AudioError when it can't be written.
    """

    def __init__(self, path: Path | str, *, private: bool = False, new: bool = False) -> None:
        self.path = Path(path)
        self._data_bytes = 0
        self._new = new
        self._written = False
        mode = 0o600 if private else 0o666
        try:
            flags = os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | (os.O_EXCL if new else os.O_TRUNC)
            descriptor = os.open(self.path, flags, mode)
            if private:
                os.fchmod(descriptor, mode)  # a file that was there before keeps its mode otherwise
            self._file: BinaryIO = os.fdopen(descriptor, "wb", buffering=0)
        except OSError as error:
            raise AudioError(_unwritable(self.path, error)) from error
        try:
            self._write_header()
        except OSError as error:
            self._give_up()
            raise AudioError(_unwritable(self.path, error)) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def seconds(self) -> float:
        """How much has been written."""
        return self._data_bytes / 2 / SAMPLE_RATE_HZ

    def append(self, samples: Samples) -> None:
        """Add a block, shape (n,)."""
        data = np.ascontiguousarray(samples, dtype="<i2").tobytes()
        if self._data_bytes + len(data) > _LARGEST_DATA_BYTES:
            raise AudioError(f"{self.path}: a WAV file holds no more than 4 GiB")
        try:
            self._write_all(data)
            self._data_bytes += len(data)
            self._write_header()
            self._written = True
            self._file.seek(0, os.SEEK_END)
        except OSError as error:
            if not self._written:
                self._give_up()
            raise AudioError(_unwritable(self.path, error)) from error

    def close(self) -> None:
        """Finish the file; a second time does nothing."""
        self._file.close()

    def _give_up(self) -> None:
        """Nothing could be written: an empty file would be taken for a recording."""
        self._file.close()
        if self._new:
            with suppress(OSError):
                self.path.unlink()

    def _write_all(self, data: bytes) -> None:
        view = memoryview(data)
        while view:
            view = view[self._file.write(view) :]

    def _write_header(self) -> None:
        self._file.seek(0)
        self._write_all(_header(self._data_bytes))


def _header(data_bytes: int) -> bytes:
    return struct.pack(
        "<4sI4s4sIHHIIHH4sI",
        b"RIFF",
        data_bytes + _HEADER_BYTES - 8,
        b"WAVE",
        b"fmt ",
        16,
        1,  # PCM
        1,  # channels
        SAMPLE_RATE_HZ,
        SAMPLE_RATE_HZ * 2,  # bytes a second
        2,  # bytes a frame
        16,  # bits a sample
        b"data",
        data_bytes,
    )


def _refuse_what_is_no_file(path: Path) -> None:
    try:
        if path.is_dir():
            raise AudioError(f"{path}: a folder, not a recording: give a WAV file")
        if path.exists() and not path.is_file():
            raise AudioError(f"{path}: not a file, so it may never end: record it into a WAV file first")
        with path.open("rb") as file:
            if not file.read(1):
                raise AudioError(f"{path}: the file is empty: record it again")
    except FileNotFoundError as error:
        raise AudioError(f"{path}: no such file: check its name and folder") from error
    except OSError as error:
        raise AudioError(
            f"{path}: can't be read ({_strerror(error)}): check its name and permissions"
        ) from error
    except ValueError as error:
        raise AudioError(f"{str(path)!r}: not the name of a file: check it") from error


def _refuse_impossible(path: Path, recording: soundfile.SoundFile) -> None:
    rate_hz = recording.samplerate
    if rate_hz < LOWEST_RATE_HZ:
        raise AudioError(
            f"{path}: its sample rate is {rate_hz} Hz, too low for speech: record at 16000 Hz or more"
        )
    if rate_hz > HIGHEST_RATE_HZ:
        raise AudioError(f"{path}: its sample rate is {rate_hz} Hz, which no microphone has: save it again")
    if recording.frames > LONGEST_SECONDS * rate_hz:
        raise AudioError(f"{path}: longer than {LONGEST_SECONDS // 60} minutes: cut it into pieces")


def _unreadable(path: Path, error: soundfile.LibsndfileError, promised: int, present: int) -> AudioError:
    if promised > present:
        return AudioError(_truncated(path, promised - present, promised, "bytes"))
    return AudioError(f"{path}: not a recording that can be read ({_reason(error)}): give a WAV file")


def _unwritable(path: Path, error: OSError) -> str:
    """The line for a file that can't be written, and what to do about it."""
    return f"{path}: can't be written ({_strerror(error)}): {advice_for(error)}"


def _wav_data_bytes(path: Path) -> tuple[int, int]:
    """What the header of a WAV file says about the length of its data, and how much there really is.

    (0, 0) for anything that is not a WAV file. libsndfile reads a short file as if nothing were missing.
    """
    with path.open("rb") as file:
        size = path.stat().st_size
        start = file.read(12)
        if len(start) < 12 or start[8:12] != b"WAVE" or start[:4] not in (b"RIFF", b"RIFX"):
            return 0, 0
        order = "<" if start[:4] == b"RIFF" else ">"
        while len(header := file.read(8)) == 8:
            name, length = struct.unpack(order + "4sI", header)
            if name == b"data":
                present = size - file.tell()
                return (present, present) if length in _SIZE_UNKNOWN else (length, present)
            file.seek(length + length % 2, os.SEEK_CUR)
    return 0, 0


def _frame_bytes(recording: soundfile.SoundFile) -> int:
    """Bytes in one frame of an uncompressed file, 0 for a compressed one."""
    sample_bytes = {"PCM_U8": 1, "PCM_S8": 1, "PCM_16": 2, "PCM_24": 3, "PCM_32": 4, "FLOAT": 4, "DOUBLE": 8}
    compressed = {"ULAW": 1, "ALAW": 1}
    return int((sample_bytes | compressed).get(recording.subtype, 0) * recording.channels)


def _truncated(path: Path, missing: float, promised: float, unit: str) -> str:
    """The line for a file that was cut off."""
    digits = 1 if unit == "seconds" else 0
    return (
        f"{path}: cut off: {missing:.{digits}f} of the {promised:.{digits}f} {unit} that its header promises "
        "are missing: copy it or record it again"
    )


def _reason(error: soundfile.LibsndfileError) -> str:
    return str(error.error_string).rstrip(". ").lower()


def _strerror(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
