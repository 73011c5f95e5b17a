"""How it sounds where it is said: noise, a radio, a room, other people."""

from __future__ import annotations

import random

import numpy as np
from numpy.typing import NDArray

from scripts.benchmarks.voices import RATE, Sound
from voice_trainer.audio.effects import radio

Samples = NDArray[np.int16]

CONDITIONS = ("clean", "engine 10 dB", "engine 5 dB", "radio band", "room", "low level", "babble 10 dB")

BEFORE_SECONDS = 0.25
AFTER_SECONDS = 0.4
"""Silence around speech."""


def silence_before(chance: random.Random) -> int:
    """How many samples come before the speech: shifted against every grid of frames."""
    return round(RATE * BEFORE_SECONDS) + chance.randrange(512)


def finished(sound: Sound, condition: str, babble: Sound, chance: random.Random) -> Samples:
    """Speech with silence around it (`silence_before` of the same chance), under a condition, at some loudness.

    `babble` is other people's talk, cut from a random place. Signal to noise is taken over the stretch of speech.
    """
    before = silence_before(chance)
    noise = np.random.default_rng(chance.getrandbits(32))
    power = float((sound**2).mean())
    sound = np.concatenate([np.zeros(before), sound, np.zeros(round(RATE * AFTER_SECONDS))])
    peak = chance.uniform(0.15, 0.9)
    match condition:
        case "engine 10 dB" | "engine 5 dB":
            decibels = float(condition.split()[1])
            sound = sound + _scaled(engine(len(sound), noise), power / 10 ** (decibels / 10))
        case "babble 10 dB":
            at = chance.randrange(len(babble))
            talk = np.take(babble, np.arange(at, at + len(sound)), mode="wrap")
            sound = sound + _scaled(talk, power / 10)
        case "room":
            sound = _in_a_room(sound, noise)
        case "low level":
            peak = chance.uniform(0.008, 0.03)
    sound = sound * (peak / np.abs(sound).max()) + noise.standard_normal(len(sound)) * 1e-4
    samples = np.asarray(np.rint(np.clip(sound, -1, 1) * 32767), np.int16)
    if condition == "radio band":
        samples = radio(samples, seed=chance.getrandbits(16))
    return samples


def _scaled(sound: Sound, power: float) -> Sound:
    return np.asarray(sound * np.sqrt(power / max(1e-12, float((sound**2).mean()))))


def engine(length: int, noise: np.random.Generator) -> Sound:
    """A propeller's harmonics over broad rumble; no recording, a likeness."""
    seconds = np.arange(length) / RATE
    blades_hertz = noise.uniform(70, 90)
    harmonics = np.zeros(length)
    for number in range(1, 16):
        phase = noise.uniform(0, 2 * np.pi)
        harmonics += np.sin(2 * np.pi * blades_hertz * number * seconds + phase) / number
    rumble = band(noise.standard_normal(length), 30, 1200)
    return _scaled(harmonics, 0.5) + _scaled(rumble, 1.0) + _scaled(noise.standard_normal(length), 0.02)


def _in_a_room(sound: Sound, noise: np.random.Generator) -> Sound:
    """A hard room: 0.3 to 0.7 s until the echo has fallen by 60 dB, 0 to 6 dB below the direct sound."""
    decay_seconds = noise.uniform(0.3, 0.7)
    length = round(RATE * decay_seconds)
    echo = noise.standard_normal(length) * 10 ** (-3 * np.arange(length) / length)
    echo[: RATE // 200] = 0
    echo *= 10 ** (-noise.uniform(0, 6) / 20) / np.sqrt((echo**2).sum())
    echo[0] = 1.0
    size = len(sound) + length
    wet = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(echo, size), size)
    return np.asarray(wet[: len(sound)])


def band(sound: Sound, low_hertz: float, high_hertz: float) -> Sound:
    """What is between two frequencies."""
    spectrum = np.fft.rfft(sound)
    hertz = np.fft.rfftfreq(len(sound), 1 / RATE)
    gain = 1 / np.sqrt((1 + (hertz / high_hertz) ** 8) * (1 + (low_hertz / np.maximum(hertz, 1)) ** 8))
    return np.asarray(np.fft.irfft(spectrum * gain, len(sound)))


def nonspeech(what: str, babble: Sound, chance: random.Random) -> Samples:
    """One to three seconds of a sound in which nobody speaks to the trainer."""
    noise = np.random.default_rng(chance.getrandbits(32))
    length = round(RATE * chance.uniform(1, 3))
    seconds = np.arange(length) / RATE
    match what:
        case "room tone":
            sound = band(noise.standard_normal(length), 40, 400) * 0.1
        case "engine":
            sound = engine(length, noise)
        case "hiss":
            sound = band(noise.standard_normal(length), 300, 3400)
        case "tone":
            sound = np.sin(2 * np.pi * noise.uniform(300, 1500) * seconds) * (seconds % 0.5 < 0.3)
        case "breath":
            swell = np.maximum(0, np.sin(2 * np.pi * seconds / noise.uniform(1.0, 1.8))) ** 2
            sound = band(noise.standard_normal(length), 400, 5000) * swell
        case "babble":
            at = chance.randrange(len(babble))
            sound = np.take(babble, np.arange(at, at + length), mode="wrap")
        case _:
            low, high, decay, each_second = {
                "keys": (1500, 7000, 0.015, 6), "knocks": (60, 500, 0.06, 3),
                "clicks": (500, 7900, 0.004, 4), "rustle": (1000, 7000, 0.08, 12),
            }[what]  # fmt: skip
            strikes = (noise.random(length) < each_second / RATE) * noise.uniform(0.3, 1, length)
            ring = band(noise.standard_normal(RATE // 2), low, high) * np.exp(
                -np.arange(RATE // 2) / RATE / decay
            )
            size = length + len(ring)
            sound = np.fft.irfft(np.fft.rfft(strikes, size) * np.fft.rfft(ring, size), size)[:length]
    peak = max(1e-9, float(np.abs(sound).max()))
    sound = sound * (chance.uniform(0.02, 0.6) / peak) + noise.standard_normal(length) * 1e-4
    return np.asarray(np.rint(np.clip(sound, -1, 1) * 32767), np.int16)
