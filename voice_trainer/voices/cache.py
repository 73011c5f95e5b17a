"""Clips that were rendered before, kept in a folder, so that a cue is ready the moment it is wanted."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import threading
import wave
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import astuple
from pathlib import Path

import numpy as np

from voice_trainer.voices.ports import Samples, Voice, VoiceStyle

_SAMPLE_RATE_HZ = 16_000


class CachedVoice:
    """Speaks each text once, and again from its folder; anybody may delete the folder at any time.

    An entry is found by the SHA-256 of the engine with its version, the style and the text. A damaged one is
    rendered again. When the folder can't be written, clips are kept in memory, and `notes` has a line that
    says so. Threads may render at once.
    """

    def __init__(self, voice: Voice, folder: Path | str) -> None:
        self.name = voice.name
        self.notes: list[str] = []
        self._voice = voice
        self._folder = Path(folder)
        self._unwritten: dict[str, Samples] = {}
        self._lock = threading.Lock()

    def voices(self) -> tuple[str, ...]:
        """See Voice."""
        return self._voice.voices()

    def render(self, text: str, style: VoiceStyle) -> Samples:
        """See Voice."""
        key = hashlib.sha256(json.dumps([self.name, astuple(style), text]).encode()).hexdigest()
        path = self._folder / key[:2] / f"{key}.wav"
        found = self._unwritten.get(key)
        if found is None:
            found = _read(path)
        if found is not None:
            return found
        samples = self._voice.render(text, style)
        try:
            _write(path, samples)
        except OSError as error:
            with self._lock:
                self._unwritten[key] = samples
                if not self.notes:
                    reason = (error.strerror or str(error)).lower()
                    self.notes.append(f"{self._folder}: spoken clips can't be kept there ({reason})")
        return samples


def render_all(voice: Voice, texts: Iterable[tuple[str, VoiceStyle]], workers: int = 2) -> int:
    """Render texts ahead, so that a cached voice has them; returns how many different ones there were.

    The texts are rendered in order, as many at a time as there are `workers`. Raises the first VoiceError,
    after those that were begun.
    """
    wanted = list(dict.fromkeys(texts))
    with ThreadPoolExecutor(max_workers=workers) as pool:
        futures = [pool.submit(voice.render, text, style) for text, style in wanted]
        try:
            for future in futures:
                future.result()
        finally:
            pool.shutdown(cancel_futures=True)
    return len(wanted)


def _read(path: Path) -> Samples | None:
    """The clip in a file of ours; None when it is missing or damaged."""
    try:
        with wave.open(str(path), "rb") as recording:
            shape = (recording.getnchannels(), recording.getsampwidth(), recording.getframerate())
            count = recording.getnframes()
            data = recording.readframes(count)
    except (OSError, EOFError, wave.Error):
        return None
    if shape != (1, 2, _SAMPLE_RATE_HZ) or count == 0 or len(data) != 2 * count:
        return None
    return np.frombuffer(data, dtype="<i2").astype(np.int16)


def _write(path: Path, samples: Samples) -> None:
    """Put a file in place whole or not at all: another process may read it at this moment."""
    path.parent.mkdir(parents=True, exist_ok=True)
    descriptor, temporary = tempfile.mkstemp(dir=path.parent, prefix=".writing-")
    try:
        with os.fdopen(descriptor, "wb") as file, wave.open(file, "wb") as recording:
            recording.setnchannels(1)
            recording.setsampwidth(2)
            recording.setframerate(_SAMPLE_RATE_HZ)
            recording.writeframes(np.ascontiguousarray(samples, dtype="<i2").tobytes())
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
