from __future__ import annotations

import numpy as np

from scripts.benchmarks.voices import VOICES
from scripts.train import voices


def test_no_voice_of_the_test_is_trained_or_tuned_on() -> None:
    heard = {*voices.KOKORO_TRAINING, *voices.KOKORO_DEVELOPMENT}
    assert not heard & set(voices.KOKORO_TEST)
    assert not set(voices.ESPEAK_TRAINING) & {*voices.ESPEAK_TEST, *voices.ESPEAK_DEVELOPMENT}
    assert not set(voices.FLITE_TRAINING) & set(voices.FLITE_TEST)


def test_development_voices_are_unknown_to_training() -> None:
    assert not set(voices.KOKORO_TRAINING) & set(voices.KOKORO_DEVELOPMENT)
    assert len({*voices.KOKORO_TRAINING, *voices.KOKORO_DEVELOPMENT}) == 28


def test_the_benchmarks_test_variants_of_espeak_are_never_spoken() -> None:
    tested = {name.partition("+")[2] for name in VOICES["test"] if name.startswith("espeak:") and "+" in name}
    assert tested <= set(voices.ESPEAK_TEST)


def test_a_drawn_voice_is_one_of_those_allowed() -> None:
    chance = np.random.default_rng(3)
    for _ in range(300):
        blend = voices.drawn_blend(chance)
        assert {blend.first, blend.second} <= set(voices.KOKORO_TRAINING)
        assert 0 <= blend.share <= 0.5
        assert voices.drawn_espeak(chance).partition("+")[2] not in voices.ESPEAK_TEST
