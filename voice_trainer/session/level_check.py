"""Whether a voice comes in well: its level, clipping, and the noise around it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from voice_trainer.audio.ports import Samples
from voice_trainer.recognition.endpointing import BLOCK_SAMPLES
from voice_trainer.session.prompted import is_clipped

FAINT_DBFS = -45.0
LOUD_ROOM_DBFS = -35.0
LEAST_OVER_NOISE_DB = 12.0
"""RMS, a full-scale sine being 0. Our choice: speech detection and recognition were measured at 10 dB and more."""

Finding = Literal["good", "too faint", "clipped", "too noisy", "nothing"]


@dataclass(frozen=True, slots=True)
class Level:
    """The loudest half of the blocks of an utterance, and the quietest tenth of them and of the quiet around it."""

    speech_dbfs: float
    noise_dbfs: float
    finding: Finding


def level_of(samples: Samples) -> Level:
    """What is to be said of an utterance with some quiet around it (mono PCM at 16 kHz)."""
    whole = samples[: len(samples) // BLOCK_SAMPLES * BLOCK_SAMPLES]
    if not len(whole):
        return Level(-100.0, -100.0, "nothing")
    blocks = whole.reshape(-1, BLOCK_SAMPLES) / 32768.0
    decibels = 20 * np.log10(np.maximum(np.sqrt(2 * np.mean(np.square(blocks), axis=1)), 1e-5))
    speech = float(np.median(decibels[decibels >= np.median(decibels)]))
    noise = float(np.percentile(decibels, 10))
    return Level(speech, noise, _finding(samples, speech, noise))


def _finding(samples: Samples, speech: float, noise: float) -> Finding:
    if is_clipped(samples):
        return "clipped"
    if noise > LOUD_ROOM_DBFS or (speech >= FAINT_DBFS and speech - noise < LEAST_OVER_NOISE_DB):
        return "too noisy"
    return "too faint" if speech < FAINT_DBFS else "good"
