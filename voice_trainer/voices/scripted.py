"""A voice without an engine: the same sounds for the same words, on every machine. For tests and dry runs."""

from __future__ import annotations

import hashlib

import numpy as np

from voice_trainer.voices.errors import VoiceError
from voice_trainer.voices.ports import Samples, VoiceStyle

_SAMPLE_RATE_HZ = 16_000
_NAMES = ("one", "two", "three", "four")


class ScriptedVoice:
    """Speaks each word as a short tone; `spoken` lists what it was asked for, in order.

    A clip lasts exactly as long as its words take at the style's rate: 60 / words_per_minute seconds a word.
    A word has its own pitch, and so has a voice.
    """

    name = "scripted 1"

    def __init__(self) -> None:
        self.spoken: list[tuple[str, VoiceStyle]] = []

    def voices(self) -> tuple[str, ...]:
        """See Voice."""
        return _NAMES

    def render(self, text: str, style: VoiceStyle) -> Samples:
        """See Voice. Raises VoiceError for a voice that is not among `voices`, and for no words."""
        if style.voice not in _NAMES:
            raise VoiceError(f"there is no scripted voice {style.voice!r}: choose from {', '.join(_NAMES)}")
        words = text.split()
        if not words:
            raise VoiceError(f"there is nothing to say in {text!r}: give it words")
        self.spoken.append((text, style))
        word_samples = round(60 / style.words_per_minute * _SAMPLE_RATE_HZ)
        base_hz = 110.0 * (1 + _NAMES.index(style.voice))
        return np.concatenate([_tone(word, base_hz, word_samples) for word in words])


def _tone(word: str, base_hz: float, count: int) -> Samples:
    """One word, with a pause a fifth of its length behind it."""
    step = hashlib.sha256(word.casefold().encode()).digest()[0]
    frequency_hz = base_hz * (1 + step / 256)
    sounding = count * 4 // 5
    tone = np.sin(2 * np.pi * frequency_hz * np.arange(sounding) / _SAMPLE_RATE_HZ) * np.hanning(sounding)
    samples = np.zeros(count, dtype=np.int16)
    samples[:sounding] = np.rint(tone * 8000).astype(np.int16)
    return samples
