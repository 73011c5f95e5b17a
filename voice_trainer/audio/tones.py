"""The three short tones that a hands-free student goes by."""

from __future__ import annotations

from typing import Literal

import numpy as np

from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.audio.wav import to_pcm

ToneName = Literal["listening", "heard", "say again"]
TONE_NAMES: tuple[ToneName, ...] = ("listening", "heard", "say again")

_NOTES_HZ_SECONDS: dict[ToneName, tuple[tuple[float, float], ...]] = {
    "listening": ((660.0, 0.12),),  # one note: your turn
    "heard": ((784.0, 0.07), (1175.0, 0.09)),  # rising: got it
    "say again": ((523.0, 0.09), (392.0, 0.10)),  # falling: not got
}
_PEAK = 0.18
_RAMP_SECONDS = 0.012


def tone(name: ToneName) -> Samples:
    """One of the tones, shape (n,), under 200 ms and soft enough not to startle in a headset."""
    return to_pcm(np.concatenate([_note(*note) for note in _NOTES_HZ_SECONDS[name]]))


def _note(frequency_hz: float, seconds: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    count = round(seconds * SAMPLE_RATE_HZ)
    ramp = round(_RAMP_SECONDS * SAMPLE_RATE_HZ)
    envelope = np.ones(count)
    # Raised-cosine ramps: a note that begins at full strength clicks.
    rise = 0.5 - 0.5 * np.cos(np.pi * np.arange(ramp) / ramp)
    envelope[:ramp] = rise
    envelope[-ramp:] = rise[::-1]
    return _PEAK * envelope * np.sin(2 * np.pi * frequency_hz * np.arange(count) / SAMPLE_RATE_HZ)
