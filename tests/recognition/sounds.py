"""Speech for the tests of recognisers: synthetic, said afresh by the Debian packages espeak-ng and flite."""

from __future__ import annotations

import functools
import io
import subprocess

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

Samples = NDArray[np.int16]

RATE = 16_000


@functools.cache
def spoken(text: str, voice: str = "slt") -> Samples:
    """`text` at 16 kHz with 0.3 s of near silence on both sides; voices of flite by name, others of espeak-ng."""
    if voice in ("slt", "rms", "awb"):
        command = ["flite", "-voice", voice, "-t", text, "-o", "/dev/stdout"]
    else:
        command = ["espeak-ng", "-v", voice, "-s", "150", "--stdout", text]
    wav = subprocess.run(command, capture_output=True, check=True).stdout
    sound, rate = soundfile.read(io.BytesIO(wav))
    sound = soxr.resample(sound, rate, RATE)
    loud = np.flatnonzero(np.abs(sound) > 0.02 * np.abs(sound).max())
    sound = sound[loud[0] : loud[-1] + 1]
    sound = sound / np.abs(sound).max() * 0.3
    quiet = np.zeros(int(0.3 * RATE))
    return hiss(np.concatenate([quiet, sound, quiet]), 3)


def silence(seconds: float) -> Samples:
    return hiss(np.zeros(int(seconds * RATE)), 3)


def noise(seconds: float, seed: int = 1) -> Samples:
    """Pink noise, as loud as the speech."""
    count = int(seconds * RATE)
    spectrum = np.fft.rfft(np.random.default_rng(seed).normal(size=count))
    frequency = np.maximum(np.fft.rfftfreq(count, 1 / RATE), 60)
    sound = np.fft.irfft(spectrum / np.sqrt(frequency), count)
    return np.asarray(np.rint(sound / sound.std() * 0.06 * 32767), np.int16)


def hiss(sound: NDArray[np.float64], steps: float) -> Samples:
    """To 16 bits, with a little noise: digital silence is nothing that a microphone delivers."""
    dither = np.random.default_rng(len(sound)).normal(0, steps, len(sound))
    return np.asarray(np.clip(np.rint(sound * 32767 + dither), -32768, 32767), np.int16)
