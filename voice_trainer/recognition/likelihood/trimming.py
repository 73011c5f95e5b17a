"""The stretch of an utterance that holds speech."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from voice_trainer.recognition.likelihood.model import SAMPLE_RATE, Floats

FRAME_SAMPLES = SAMPLE_RATE // 50
SILENCE_RMS = 10 ** (-60 / 20)
"""Below this, relative to full scale, no frame of an utterance is speech."""

ABOVE_FLOOR = 10 ** (6 / 20)
BELOW_PEAK = 10 ** (-30 / 20)
LEAD_SECONDS = 0.15
TAIL_SECONDS = 0.25


@dataclass(frozen=True, slots=True)
class Speech:
    """The stretch of speech with some quiet around it, and the sample at which it begins: before the first one, where
    there was too little of that.
    """

    samples: Floats
    first: int


def trim(samples: Floats) -> Speech | None:
    """The speech in `samples` (-1..1); None when all of it is silence."""
    count = len(samples) // FRAME_SAMPLES
    if count < 2:
        return None
    frames = samples[: count * FRAME_SAMPLES].reshape(count, FRAME_SAMPLES).astype(np.float64)
    frames = frames - frames.mean()
    loudness = np.sqrt((frames**2).mean(axis=1))
    peak = float(np.percentile(loudness, 95))
    if float(loudness.max()) < SILENCE_RMS:
        return None
    floor = float(np.percentile(loudness, 10))
    # In loud noise the floor comes near to the speech: then everything is kept rather than a word lost.
    threshold = min(max(floor * ABOVE_FLOOR, peak * BELOW_PEAK), peak * 0.25)
    loud = np.flatnonzero(loudness > threshold)
    first = int(loud[0]) * FRAME_SAMPLES - int(LEAD_SECONDS * SAMPLE_RATE)
    last = (int(loud[-1]) + 1) * FRAME_SAMPLES + int(TAIL_SECONDS * SAMPLE_RATE)
    # The model has learnt that there is quiet before a call: speech from the first sample on is nothing to it.
    missing = (max(0, -first), max(0, last - len(samples)))
    return Speech(np.pad(samples[max(0, first) : last], missing), first)
