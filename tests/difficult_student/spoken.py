"""What a difficult student says as sound: each stretch of words is spoken by espeak-ng by itself."""

from __future__ import annotations

import functools
import io
import subprocess
import zlib

import numpy as np
import soundfile
import soxr

from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples

USUAL_WORDS_PER_MINUTE = 160
KEPT_SAMPLES = SAMPLE_RATE_HZ // 50

VOICES = ("en-us", "en-us+f3", "en-us+m3", "en-us+f4", "en-gb-x-rp")
"""Chosen before any result was seen."""


@functools.lru_cache(maxsize=4000)
def clip_of(text: str, voice: str, speed: float) -> Samples:
    """`text` without the quiet around it, mono PCM at 16 kHz; no two texts have a stretch of samples in common."""
    rate = round(USUAL_WORDS_PER_MINUTE * speed)
    command = ["espeak-ng", "-v", voice, "-s", str(rate), "--stdout", text]
    wav = subprocess.run(command, capture_output=True, check=True).stdout
    sound, sound_rate = soundfile.read(io.BytesIO(wav))
    sound = soxr.resample(sound, sound_rate, SAMPLE_RATE_HZ)
    loud = np.flatnonzero(np.abs(sound) > 0.02 * np.abs(sound).max())
    sound = sound[max(0, loud[0] - KEPT_SAMPLES) : loud[-1] + KEPT_SAMPLES]
    dither = np.random.default_rng(zlib.crc32(text.encode())).normal(0, 2, len(sound))
    return np.clip(np.rint(sound / np.abs(sound).max() * 9000 + dither), -32768, 32767).astype(np.int16)
