"""A short look at a live microphone and speaker: level, noise floor, and the delay where one hears the other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from voice_trainer.audio.effects import level_dbfs
from voice_trainer.audio.live import LiveMicrophone, LiveSpeaker
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Block, Samples

QUIET_SECONDS = 1.0
LISTEN_SECONDS = 1.5
CHIRP_SECONDS = 0.25
SILENCE_DBFS = -99.0
"""What digital silence is called: it has no level in decibels."""
CLEARLY_HEARD = 0.35
"""Normalised correlation above which the chirp was heard: noise of this length stays below 0.1."""


@dataclass(frozen=True, slots=True)
class SoundCheck:
    """`loopback_seconds` is from when the speaker says that it sounds to when the microphone hears it, or None."""

    noise_floor_dbfs: float
    peak_dbfs: float
    lost_samples: int
    loopback_seconds: float | None


def sound_check(microphone: str | None = None, speaker: str | None = None) -> SoundCheck:
    """Listen for a second, play a soft chirp, and listen for it. Raises AudioError."""
    ear = LiveMicrophone(microphone)
    try:
        mouth = LiveSpeaker(speaker, ear)
        try:
            quiet, _, lost = _listen(ear, QUIET_SECONDS)
            delay, lost_too = _one_delay(ear, mouth)
        finally:
            mouth.close()
    finally:
        ear.close()
    blocks = quiet[: len(quiet) // 512 * 512].reshape(-1, 512)
    floor = float(np.percentile([max(level_dbfs(block), SILENCE_DBFS) for block in blocks], 20))
    peak = float(np.max(np.abs(quiet.astype(np.int32)), initial=1))
    return SoundCheck(floor, 20 * float(np.log10(peak / 32768)), lost + lost_too, delay)


MEASURED_TIMES = 5


@dataclass(frozen=True, slots=True)
class MeasuredDelay:
    """How much later than it says a speaker sounds: the median, and how far the measurements lie apart.

    `times` is how often the chirp was heard, of `MEASURED_TIMES`; the others are None where that is too seldom.
    """

    speaker: str
    times: int
    seconds: float | None
    spread_seconds: float | None


def measure_delay(microphone: str | None = None, speaker: str | None = None) -> MeasuredDelay:
    """Play a soft chirp five times, and listen for it. Raises AudioError."""
    ear = LiveMicrophone(microphone)
    try:
        mouth = LiveSpeaker(speaker, ear)
        try:
            _listen(ear, QUIET_SECONDS)
            measured: list[float | None] = []
            for _ in range(MEASURED_TIMES):
                measured.append(_one_delay(ear, mouth)[0])
                _listen(ear, QUIET_SECONDS)  # or a very late chirp would be taken for the next one
            found = [delay for delay in measured if delay is not None]
            name = mouth.name
        finally:
            mouth.close()
    finally:
        ear.close()
    if len(found) <= MEASURED_TIMES // 2:
        return MeasuredDelay(name, len(found), None, None)
    return MeasuredDelay(name, len(found), float(np.median(found)), max(found) - min(found))


def _one_delay(ear: LiveMicrophone, mouth: LiveSpeaker) -> tuple[float | None, int]:
    """From when the speaker says that a chirp sounds to when the microphone hears it, None where it doesn't; and how
    many samples were lost.
    """
    chirp = chirp_clip()
    mouth.play("chirp", chirp)
    heard, first_sample, lost = _listen(ear, LISTEN_SECONDS)
    now = (first_sample + len(heard)) / SAMPLE_RATE_HZ
    began = next((e.at_seconds for e in mouth.events(now) if e.kind == "started"), None)
    place = find_clip(chirp, heard)
    if place is None or began is None:
        return None, lost
    return (first_sample + place) / SAMPLE_RATE_HZ - began, lost


def chirp_clip() -> Samples:
    """A soft rising tone, 300 to 3000 Hz: it has one place only where it fits itself."""
    t = np.arange(int(CHIRP_SECONDS * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    sweep = np.sin(2 * np.pi * (300 * t + (3000 - 300) / (2 * CHIRP_SECONDS) * t**2))
    return (0.2 * 32767 * sweep * np.hanning(len(t))).astype(np.int16)


def find_clip(clip: Samples, recording: Samples) -> int | None:
    """The sample of `recording` at which `clip` is heard best, None where it is not clearly heard."""
    place, likeness = best_fit(clip, recording)
    return place if likeness >= CLEARLY_HEARD else None


def best_fit(clip: Samples, recording: Samples) -> tuple[int, float]:
    """Where in `recording` the clip fits best, and how well: their normalised correlation, at most 1."""
    if len(recording) < len(clip):
        return 0, 0.0
    wanted, got = clip.astype(np.float64), recording.astype(np.float64)
    size = len(got) + len(wanted)
    product = np.fft.irfft(np.fft.rfft(got, size) * np.conj(np.fft.rfft(wanted, size)), size)
    product = product[: len(got) - len(wanted) + 1]
    energy = np.concatenate([[0.0], np.cumsum(got**2)])
    local = energy[len(wanted) :] - energy[: -len(wanted)]
    likeness = product / np.sqrt(np.maximum(local, 1.0) * np.sum(wanted**2))
    place = int(np.argmax(likeness))
    return place, float(likeness[place])


def _listen(ear: LiveMicrophone, seconds: float) -> tuple[Samples, int, int]:
    """The samples of some seconds, the number of the first, and how many were lost."""
    blocks: list[Block] = []
    while sum(len(block.samples) for block in blocks) < seconds * SAMPLE_RATE_HZ:
        block = ear.read()
        if block is None:
            break
        blocks.append(block)
    samples = np.concatenate([block.samples for block in blocks])
    return samples, blocks[0].first_sample, sum(block.lost_samples for block in blocks)
