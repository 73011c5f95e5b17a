"""When words were said: their times, where an engine has none, and sound that times can be found in."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from voice_trainer.recognition.ports import Samples

TimedWord = tuple[str, float, float]
"""A word, its start and its end, in seconds from the first sample."""

_DITHER_STEPS = 1.5


def dithered(samples: Samples) -> Samples:
    """`samples` with a trace of noise, the same each time: sound with digital silence in it can't be aligned."""
    noise = np.random.default_rng(0).normal(0.0, _DITHER_STEPS, len(samples))
    return np.asarray(np.clip(np.rint(samples + noise), -32768, 32767), np.int16)


def spread(words: Sequence[str], start_seconds: float, end_seconds: float) -> list[TimedWord]:
    """Words one after the other from start to end, each in proportion to its number of letters."""
    total = sum(len(word) for word in words)
    timed: list[TimedWord] = []
    before = 0
    for word in words:
        after = before + len(word)
        length = end_seconds - start_seconds
        timed.append((word, start_seconds + length * before / total, start_seconds + length * after / total))
        before = after
    return timed
