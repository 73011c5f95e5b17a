"""Speech for the likelihood engine: espeak-ng says it, the real model hears it."""

from __future__ import annotations

import io
import subprocess

import numpy as np
import soundfile
import soxr

from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.recognition.ports import Samples

CALLS = (
    "turn left heading {heading: 284}",
    "descend and maintain {altitude: 2600}",
    "{callsign: Heron 24} kelda inbound {altitude: 3600}",
    "direct brannock",
    "contact tower {frequency: 118.3}",
    "squawk {squawk: 4621}",
    "altimeter {altimeter: 29.92}",
    "gear down",
    "fuel pump on",
    "cleared to land runway {runway: 24L}",
    "{callsign: Heron 24} missed approach",
    "minimums going around",
    "start the clock",
    "hold inbound the {radial: 045} radial left turns",
)


def grammar_of(*patterns: str) -> Grammar:
    return Grammar([Phrase(compile_pattern(pattern), "call") for pattern in patterns])


def speech(text: str, voice: str = "en-us", words_a_minute: int = 155) -> Samples:
    """`text` as espeak-ng says it: mono PCM at 16 kHz, a bit of silence around it."""
    command = ["espeak-ng", "-v", voice, "-s", str(words_a_minute), "--stdout", text]
    wav = subprocess.run(command, check=True, capture_output=True).stdout
    sound, rate = soundfile.read(io.BytesIO(wav))
    resampled = soxr.resample(sound, rate, 16_000)
    loud = resampled * (0.5 / np.abs(resampled).max())
    return (np.concatenate([np.zeros(3200), loud, np.zeros(6400)]) * 32767).astype(np.int16)
