"""A television beside the student: people who talk about other things, for as long as a session lasts."""

from __future__ import annotations

import functools

import numpy as np

from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

TALK = (
    "the minister said on monday that prices would rise again before the summer",
    "my sister has bought a house near the river and wants to paint it blue",
    "then he told me that nobody had seen the dog since breakfast",
    "and now to the weather, with rain in the north and some sun along the coast",
    "you never listen to what I say, do you, that is the third time this week",
    "the home team won by two goals to one after a long and rather dull first half",
    "if you turn left at the church there is a small shop that sells good bread",
    "four hundred people came to the meeting, which went on until ten at night",
)
"""With some words that occur in calls, too."""

VOICES = ("gmw/en-gb-x-rp", "gmw/en-us+f3", "gmw/en-us+m3", "gmw/en-gb-scotland")


@functools.cache
def television(seconds: float, dbfs: float, seed: int = 0) -> Samples:
    """One after the other, with short pauses, at a level (RMS, a full-scale sine being 0)."""
    voice = Pyttsx3Voice()
    random = np.random.default_rng(seed)
    parts: list[np.ndarray] = []
    count = 0
    while count < seconds * SAMPLE_RATE_HZ:
        text = TALK[int(random.integers(len(TALK)))]
        speaker = VOICES[int(random.integers(len(VOICES)))]
        clip = voice.render(text, VoiceStyle(speaker, int(random.integers(140, 190)))).astype(np.float64)
        clip /= np.sqrt(np.mean(clip**2))
        pause = np.zeros(round(float(random.uniform(0.1, 0.9)) * SAMPLE_RATE_HZ))
        parts += [clip, pause]
        count += len(clip) + len(pause)
    joined = np.concatenate(parts)[: round(seconds * SAMPLE_RATE_HZ)]
    return _at_level(joined, dbfs)


@functools.cache
def babble(seconds: float, dbfs: float, seed: int = 0) -> Samples:
    """Six of them at once."""
    together = sum(television(seconds, -20.0, seed + number).astype(np.float64) for number in range(6))
    return _at_level(np.asarray(together), dbfs)


def _at_level(sound: np.ndarray, dbfs: float) -> Samples:
    wanted = 32768 / np.sqrt(2) * 10 ** (dbfs / 20)
    return np.clip(np.rint(sound * wanted / np.sqrt(np.mean(sound**2))), -32768, 32767).astype(np.int16)
