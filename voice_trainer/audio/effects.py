"""What is done to a clip before it is played: the sound of a radio, and an even loudness."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.audio.wav import to_pcm

RADIO_BAND_HZ = (300.0, 3400.0)
"""The band of a voice channel, as in ITU-T Recommendation G.712 (and about that of a VHF aeroplane radio)."""

_EDGE_HZ = 60.0
_LEVELLING_SECONDS = 0.03
_COMPRESSION_RATIO = 3.0
_RADIO_LEVEL_DBFS = -18.0
_NOISE_BELOW_SPEECH_DB = 30.0


def level_dbfs(samples: Samples) -> float:
    """The RMS level in dB, a full-scale sine being 0 (AES17): minus infinity for silence and for nothing."""
    if len(samples) == 0:
        return -np.inf
    rms = float(np.sqrt(np.mean(np.square(samples.astype(np.float64) / 32768.0))))
    return 20 * float(np.log10(rms * np.sqrt(2))) if rms > 0 else -np.inf


def normalise(samples: Samples, target_dbfs: float = -20.0, peak_dbfs: float = -1.0) -> Samples:
    """The clip at an RMS level of `target_dbfs`, or less where its peaks would exceed `peak_dbfs`.

    Silence stays silence.
    """
    level = level_dbfs(samples)
    if level == -np.inf:
        return samples.copy()
    values = samples.astype(np.float64) / 32768.0
    gain_db = target_dbfs - level
    headroom_db = peak_dbfs - 20 * float(np.log10(np.abs(values).max()))
    return to_pcm(values * 10 ** (min(gain_db, headroom_db) / 20))


def radio(samples: Samples, seed: int = 0) -> Samples:
    """The clip as an aeroplane's radio would give it, of the same length: 300-3400 Hz, levelled, some hiss.

    The same seed gives the same hiss.
    """
    if len(samples) == 0:
        return samples.copy()
    speech = _band_pass(samples.astype(np.float64) / 32768.0)
    levelled = _compress(speech)
    rms = float(np.sqrt(np.mean(np.square(levelled))))
    if rms > 0:
        levelled *= 10 ** (_RADIO_LEVEL_DBFS / 20) / np.sqrt(2) / rms
    hiss = _band_pass(np.random.default_rng(seed).normal(0.0, 1.0, len(samples)))
    hiss_rms = max(float(np.sqrt(np.mean(np.square(hiss)))), 1e-9)
    hiss *= 10 ** ((_RADIO_LEVEL_DBFS - _NOISE_BELOW_SPEECH_DB) / 20) / np.sqrt(2) / hiss_rms
    return to_pcm(levelled + hiss)


def _band_pass(values: NDArray[np.float64]) -> NDArray[np.float64]:
    # Padded, because a filter in the frequency domain is circular: the end would ring into the beginning.
    padded = len(values) + SAMPLE_RATE_HZ // 10
    spectrum = np.fft.rfft(values, padded)
    frequencies = np.fft.rfftfreq(padded, 1 / SAMPLE_RATE_HZ)
    low, high = RADIO_BAND_HZ
    gain = np.clip((frequencies - (low - _EDGE_HZ)) / _EDGE_HZ, 0, 1) * np.clip(
        ((high + _EDGE_HZ) - frequencies) / _EDGE_HZ, 0, 1
    )
    smooth = np.sin(gain * np.pi / 2) ** 2
    return np.fft.irfft(spectrum * smooth, padded)[: len(values)]


def _compress(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Loud and soft syllables brought closer together, by a gain that follows the level smoothly."""
    window = np.hanning(round(_LEVELLING_SECONDS * SAMPLE_RATE_HZ) * 2 + 1)
    power = np.convolve(np.square(values), window / window.sum(), mode="full")
    power = power[len(window) // 2 : len(window) // 2 + len(values)]
    envelope = np.sqrt(np.maximum(power, 0.0))
    # The floor keeps pauses quiet: without it the gain would lift the engine's own noise to speech level.
    floor = max(float(envelope.max()) * 0.1, 1e-4)
    gain = np.maximum(envelope, floor) ** (1 / _COMPRESSION_RATIO - 1)
    return np.asarray(values * gain, dtype=np.float64)
