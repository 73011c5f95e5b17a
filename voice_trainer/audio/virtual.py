"""Audio without hardware, in virtual time: a minute of session takes as long as its computing does.

Time is the number of samples that have been read from the microphone. Its samples come from a source: a
recording (`WavSource`), or clips that somebody schedules while the session runs (`ScheduledSource`). The
speaker (`ClockedSpeaker`) makes no sound; it knows when a clip began and ended because it is told the time.
What comes out never depends on the size of the blocks that are read.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.ports import BLOCK_SAMPLES, SAMPLE_RATE_HZ, Block, PlaybackEvent, Samples


class SoundSource(Protocol):
    """Where the samples of a virtual microphone come from."""

    def samples(self, first_sample: int, count: int) -> Samples | None:
        """`count` samples from number `first_sample` of the session on, shape (count,); None at the end.

        It is asked in order, without gaps.
        """


class SampleSink(Protocol):
    """Takes samples in order: a `WavWriter`, for one."""

    def append(self, samples: Samples) -> None:
        """The next samples, shape (n,)."""


class WavSource:
    """A recording, then `tail_seconds` of silence, so that its last words are heard out, then the end."""

    def __init__(self, recording: Samples, tail_seconds: float = 0.0) -> None:
        self._recording = recording
        self._end_sample = len(recording) + round(tail_seconds * SAMPLE_RATE_HZ)

    def samples(self, first_sample: int, count: int) -> Samples | None:
        """See SoundSource; the last block is filled up with silence."""
        if first_sample >= self._end_sample:
            return None
        block = np.zeros(count, dtype=np.int16)
        part = self._recording[first_sample : first_sample + count]
        block[: len(part)] = part
        return block


@dataclass(frozen=True, slots=True)
class _ScheduledClip:
    first_sample: int
    samples: Samples

    @property
    def end_sample(self) -> int:
        return self.first_sample + len(self.samples)


class ScheduledSource:
    """A student whose speech somebody schedules, also while the session runs; it never ends.

    Clips that overlap are mixed and clipped at full scale. `noise_dbfs` (RMS, a full-scale sine being 0) adds
    a quiet room, the same one for the same seed; None leaves digital silence. Safe to use from two threads.
    """

    def __init__(self, *, noise_dbfs: float | None = None, seed: int = 0) -> None:
        self._lock = threading.Lock()
        self._clips: list[_ScheduledClip] = []
        self._delivered_samples = 0
        self._noise = _room_noise(noise_dbfs, seed) if noise_dbfs is not None else None

    @property
    def delivered_seconds(self) -> float:
        """Up to where the samples have been read: from there on clips can be scheduled."""
        return self._delivered_samples / SAMPLE_RATE_HZ

    def say(self, at_seconds: float, clip: Samples) -> float:
        """Let `clip` begin at session time `at_seconds`; returns the session time at which it ends.

        Raises AudioError when that moment has been delivered already.
        """
        scheduled = _ScheduledClip(round(at_seconds * SAMPLE_RATE_HZ), clip)
        with self._lock:
            if scheduled.first_sample < self._delivered_samples:
                raise AudioError(
                    f"second {at_seconds:.3f} of the session is over: it is at {self.delivered_seconds:.3f}"
                )
            self._clips.append(scheduled)
        return scheduled.end_sample / SAMPLE_RATE_HZ

    def samples(self, first_sample: int, count: int) -> Samples | None:
        """See SoundSource."""
        end_sample = first_sample + count
        mixed = np.zeros(count, dtype=np.int32)
        if self._noise is not None:
            mixed += self._noise.take(np.arange(first_sample, end_sample), mode="wrap")
        with self._lock:
            for clip in self._clips:
                start, end = max(clip.first_sample, first_sample), min(clip.end_sample, end_sample)
                if start < end:
                    part = clip.samples[start - clip.first_sample : end - clip.first_sample]
                    mixed[start - first_sample : end - first_sample] += part
            self._delivered_samples = end_sample
            self._clips = [clip for clip in self._clips if clip.end_sample > end_sample]
        return np.clip(mixed, -32768, 32767).astype(np.int16)


class VirtualMicrophone:
    """Reads blocks from a source as fast as they are wanted; with `pace`, not before their time has come.

    A paced microphone starts its clock with the first `read` and does not drift: a late block is followed by
    one that comes sooner.
    """

    def __init__(self, source: SoundSource, *, pace: bool = False, name: str = "virtual microphone") -> None:
        self.name = name
        self._source = source
        self._pace = pace
        self._next_sample = 0
        self._started_host_seconds: float | None = None
        self._closed = threading.Event()

    @property
    def read_seconds(self) -> float:
        """The session time just after the last block."""
        return self._next_sample / SAMPLE_RATE_HZ

    def read(self) -> Block | None:
        """The next block; None at the end of the source, or after `close`."""
        if self._closed.is_set():
            return None
        first_sample = self._next_sample
        if self._pace:
            if self._started_host_seconds is None:
                self._started_host_seconds = time.monotonic()
            due = self._started_host_seconds + (first_sample + BLOCK_SAMPLES) / SAMPLE_RATE_HZ
            if self._closed.wait(max(0.0, due - time.monotonic())):
                return None
        samples = self._source.samples(first_sample, BLOCK_SAMPLES)
        if samples is None:
            return None
        self._next_sample += len(samples)
        return Block(first_sample, samples)

    def session_seconds(self, host_seconds: float) -> float:
        """Paced: the host's clock since the first read. Otherwise the time read so far."""
        if self._pace and self._started_host_seconds is not None:
            return host_seconds - self._started_host_seconds
        return self.read_seconds

    def reopen(self) -> bool:
        """Nothing here is ever lost."""
        return not self._closed.is_set()

    def close(self) -> None:
        """End the input; a `read` that waits returns None."""
        self._closed.set()


@dataclass(frozen=True, slots=True)
class _Sounding:
    name: str
    first_sample: int
    samples: Samples

    @property
    def end_sample(self) -> int:
        return self.first_sample + len(self.samples)


class ClockedSpeaker:
    """A silent speaker whose clock is the `now_seconds` that it is told.

    A clip begins at the moment that `events` was last told (0 at first), and sounds for its length, to the
    sample. `sink` gets everything that would have been heard, silence included, from sample 0 on, so that it
    lines up with the session; it is written up to the moment that `events` was last told.
    """

    def __init__(self, sink: SampleSink | None = None, *, name: str = "virtual speaker") -> None:
        self.name = name
        self._sink = sink
        self._now_sample = 0
        self._written_sample = 0
        self._sounding: _Sounding | None = None
        self._pending: deque[PlaybackEvent] = deque()

    def play(self, name: str, clip: Samples) -> None:
        """Begin `clip` now; a clip that still sounds is stopped."""
        self.stop()
        self._sounding = _Sounding(name, self._now_sample, clip)
        self._pending.append(PlaybackEvent("started", name, self._now_sample / SAMPLE_RATE_HZ))

    def stop(self) -> None:
        """Fall silent now."""
        if self._sounding is not None:
            at_seconds = self._now_sample / SAMPLE_RATE_HZ
            complete = self._now_sample >= self._sounding.end_sample
            self._pending.append(PlaybackEvent("ended", self._sounding.name, at_seconds, complete))
            self._sounding = None

    def events(self, now_seconds: float) -> list[PlaybackEvent]:
        """What happened up to `now_seconds`, each at its exact time however late one asks."""
        self._advance(max(self._now_sample, round(now_seconds * SAMPLE_RATE_HZ)))
        happened = list(self._pending)
        self._pending.clear()
        return happened

    def reopen(self) -> bool:
        """Nothing here is ever lost."""
        return True

    def close(self) -> None:
        """Write what still sounds to the sink, to its end."""
        if self._sounding is not None:
            self._advance(self._sounding.end_sample)

    def _advance(self, to_sample: int) -> None:
        self._write(to_sample)
        self._now_sample = to_sample
        if self._sounding is not None and self._sounding.end_sample <= to_sample:
            at_seconds = self._sounding.end_sample / SAMPLE_RATE_HZ
            self._pending.append(PlaybackEvent("ended", self._sounding.name, at_seconds))
            self._sounding = None

    def _write(self, to_sample: int) -> None:
        if self._sink is None or to_sample <= self._written_sample:
            return
        heard = np.zeros(to_sample - self._written_sample, dtype=np.int16)
        if self._sounding is not None:
            start = max(self._sounding.first_sample, self._written_sample)
            end = min(self._sounding.end_sample, to_sample)
            if start < end:
                first = self._sounding.first_sample
                heard[start - self._written_sample : end - self._written_sample] = self._sounding.samples[
                    start - first : end - first
                ]
        self._sink.append(heard)
        self._written_sample = to_sample


def _room_noise(level_dbfs: float, seed: int) -> Samples:
    """16 seconds of noise, repeated: drawn once, so that it does not depend on how it is read."""
    amplitude = 32768 / np.sqrt(2) * 10 ** (level_dbfs / 20)
    noise = np.random.default_rng(seed).normal(0.0, amplitude, 16 * SAMPLE_RATE_HZ)
    return np.clip(np.rint(noise), -32768, 32767).astype(np.int16)
