"""What a condition does to speech, measured: levels, bands, echoes."""

import random
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from scripts.benchmarks.conditions import AFTER_SECONDS, CONDITIONS, finished, silence_before
from scripts.benchmarks.voices import RATE, Sound, speech

TEXT = "turn left heading two eight four climbing through three thousand eight hundred"
SEEDS = range(8)


@cache
def _speech() -> Sound:
    return speech("espeak:gmw/en-US+f4", TEXT.split(), 1.0)


@cache
def _babble() -> Sound:
    said = "somebody mentioned how to mend a bicycle and would like a cup of tea and some biscuits please"
    return speech("espeak:gmw/en-US+m7", said.split(), 1.0)


def _heard(condition: str, seed: int) -> Sound:
    samples = finished(_speech(), condition, _babble(), random.Random(seed))
    return samples.astype(np.float64) / 32768


def _stretch(sound: Sound, seed: int) -> Sound:
    """The stretch in which somebody speaks."""
    before = silence_before(random.Random(seed))
    return sound[before : before + len(_speech())]


def _decibels(one: Sound, other: Sound) -> float:
    return float(10 * np.log10((one**2).mean() / (other**2).mean()))


def _without_speech(sound: Sound) -> tuple[Sound, Sound]:
    """Speech as it is in there, and what else is."""
    said = _speech()
    there = said * float(sound @ said) / float(said @ said)
    return there, sound - there


@pytest.mark.parametrize(
    ("condition", "decibels"), [("engine 10 dB", 10), ("engine 5 dB", 5), ("babble 10 dB", 10)]
)
def test_noise_is_below_speech_by_what_the_condition_says(condition: str, decibels: float):
    for seed in SEEDS:
        there, rest = _without_speech(_stretch(_heard(condition, seed), seed))
        # Babble has pauses of its own: where it is cut, there is more or less of it than on average.
        assert _decibels(there, rest) == pytest.approx(decibels, abs=1.0 if "babble" in condition else 0.5)


def test_clean_speech_has_next_to_nothing_beside_it():
    for seed in SEEDS:
        there, rest = _without_speech(_stretch(_heard("clean", seed), seed))
        assert _decibels(there, rest) > 40


def test_far_too_quiet_is_thirty_to_forty_two_decibels_below_full_scale_and_everything_else_is_not():
    for condition in CONDITIONS:
        peaks = [20 * np.log10(np.abs(_heard(condition, seed)).max()) for seed in SEEDS]
        if condition == "low level":
            assert all(-42.5 < peak < -30 for peak in peaks)
        else:
            assert all(-17 < peak <= 0 for peak in peaks)


def test_a_radio_has_the_band_of_a_voice_channel_and_hiss():
    for seed in SEEDS:
        heard = _stretch(_heard("radio band", seed), seed)
        inside = _between(heard, 300, 3400)
        assert _decibels(inside, _between(heard, 3700, RATE)) > 40
        assert _decibels(inside, _between(heard, 0, 150)) > 40
        assert _decibels(_between(_speech(), 300, 3400), _between(_speech(), 3700, RATE)) < 30
        behind = _heard("radio band", seed)[-round(RATE * AFTER_SECONDS / 2) :]
        assert 20 < _decibels(heard, behind) < 40


def _between(sound: Sound, low_hertz: float, high_hertz: float) -> Sound:
    """Nothing but what is between two frequencies: the benchmark's own filters leave some of the rest."""
    spectrum = np.fft.rfft(sound)
    hertz = np.fft.rfftfreq(len(sound), 1 / RATE)
    return np.asarray(np.fft.irfft(spectrum * ((hertz >= low_hertz) & (hertz <= high_hertz)), len(sound)))


def test_a_room_echoes_for_a_third_to_two_thirds_of_a_second():
    """Of one click: by Schroeder's backward integration, from 5 to 25 dB below, times three (ISO 3382)."""
    click = np.zeros(RATE)
    click[0] = 1.0
    for seed in SEEDS:
        before = silence_before(random.Random(seed))
        heard = finished(click, "room", _babble(), random.Random(seed)).astype(np.float64) / 32768
        echo = heard[before : before + round(0.6 * RATE)]
        direct, late = echo[0] ** 2, echo[1:]
        floor = float((heard[-RATE // 5 :] ** 2).mean())
        assert -1 < 10 * np.log10(direct / ((late**2).sum() - floor * len(late))) < 7
        assert 0.25 < _reverberation_seconds(late[RATE // 200 :], floor) < 0.75


def _reverberation_seconds(echo: Sound, floor: float) -> float:
    left: NDArray[np.float64] = np.cumsum((echo**2 - floor)[::-1])[::-1]
    level = 10 * np.log10(np.maximum(left / left[0], 1e-9))
    return 3 * float(np.argmax(level < -25) - np.argmax(level < -5)) / RATE
