"""What is fitted to a voice: its level, its pauses; and how a prompt counts."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.audio.ports import Samples
from voice_trainer.journal.hearing import Hearing
from voice_trainer.journal.personal import Count, Personal
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.recognition.fitting import (
    Levels,
    Reading,
    fit,
    gain_for,
    gains,
    hangover_for,
    levels_of,
    longest_pause_seconds,
    outcome_of,
    pieces_of,
    weigh,
)
from voice_trainer.recognition.personal import USUAL
from voice_trainer.recognition.scripted import ScriptedRecogniser
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

HEADING = compile_pattern("turn left heading {heading: 284}")
QUIET = np.zeros(4800, np.int16)


def silence(seconds: float) -> Samples:
    return np.zeros(int(seconds * 16_000), np.int16)


@pytest.fixture(scope="module")
def halves() -> tuple[Samples, Samples]:
    voice = Pyttsx3Voice()
    style = VoiceStyle("gmw/en-us")
    return voice.render("turn left", style), voice.render("heading two eight four", style)


def read_with_pause(halves: tuple[Samples, Samples], seconds: float) -> Samples:
    return np.concatenate([QUIET, halves[0], silence(seconds), halves[1], QUIET])


def test_the_longest_pause_is_found(halves: tuple[Samples, Samples]) -> None:
    short = longest_pause_seconds(read_with_pause(halves, 0.0))
    long = longest_pause_seconds(read_with_pause(halves, 0.7))
    assert short < 0.3
    assert 0.6 <= long <= 0.95
    assert longest_pause_seconds(silence(1)) == 0


def test_the_hangover_is_the_pauses_and_a_margin_within_limits() -> None:
    # By hand: the 95th percentile of 12 values lies at rank 10.45, here 0.45 of the way from 0.3 to 0.7.
    assert hangover_for([0.3] * 11 + [0.7]) == pytest.approx(0.3 + 0.45 * 0.4 + 0.2)
    assert hangover_for([0.05] * 12) == 0.6
    assert hangover_for([3.0] * 12) == 1.2


@given(st.lists(st.floats(0, 30), min_size=1, max_size=20))
def test_any_hangover_is_legal(pauses: list[float]) -> None:
    assert Personal(hangover_seconds=hangover_for(pauses))


def test_levels_and_gain() -> None:
    # A sine of amplitude 3277 is a tenth of full scale: -20 dBFS (AES17).
    sine = np.rint(3277 * np.sin(np.arange(16_000) * 0.3)).astype(np.int16)
    levels = levels_of([Reading(HEADING, np.concatenate([silence(0.5), sine]))])
    assert levels.speech_dbfs == pytest.approx(-20.0, abs=0.2)
    assert levels.noise_floor_dbfs < -90
    assert gain_for(levels) == 0.0
    assert gain_for(Levels(-80.0, -45.0)) == 19.0
    assert gain_for(Levels(-80.0, -60.0)) == 20.0
    assert gain_for(Levels(-50.0, -45.0)) == 0.0  # as much noise as speech: louder is no clearer


def heard(text: str, clarity: str = "clear") -> Hearing:
    recogniser = ScriptedRecogniser([text])
    recogniser.prepare(Grammar([Phrase(HEADING, "call"), Phrase(compile_pattern("roger"), "trade")]), {})
    return recogniser.hear(QUIET, 0.0).model_copy(update={"clarity": clarity})


@pytest.mark.parametrize(
    ("hearings", "outcome"),
    [
        ([], "neither"),
        ([heard("turn left heading two eight four")], "right"),
        ([heard("turn left heading two eight five")], "wrong"),
        ([heard("turn right heading two eight four")], "wrong"),
        ([heard("turn left heading two eight five", "unclear")], "neither"),
        ([heard("turn left heading two eight four", "unclear")], "neither"),
        ([heard("roger")], "neither"),
        ([heard("roger"), heard("turn left heading two eight four")], "right"),
        ([heard("turn left heading two eight four"), heard("turn left heading two four eight")], "wrong"),
    ],
)
def test_what_counts_as_right(hearings: list[Hearing], outcome: str) -> None:
    assert outcome_of(hearings, HEADING) == outcome


def test_what_counts_as_a_gain() -> None:
    before = Count(prompts=8, right=6, wrong=0)
    assert gains(before, Count(prompts=8, right=7, wrong=0))
    assert not gains(before, before)
    assert not gains(before, Count(prompts=8, right=8, wrong=1))
    assert not gains(before, Count(prompts=8, right=5, wrong=0))
    assert gains(Count(prompts=8, right=6, wrong=1), Count(prompts=8, right=5, wrong=0))


def test_a_student_who_pauses_is_heard_whole_with_a_fitted_hangover(halves: tuple[Samples, Samples]) -> None:
    """The engine here knows no thresholds: only the pauses are fitted, and they are what is gained."""
    sound = read_with_pause(halves, 0.7)
    whole = np.concatenate([halves[0], silence(0.7), halves[1]])
    recogniser = ScriptedRecogniser(clips={"turn left heading two eight four": whole[: len(whole) // 2 * 2]})
    recogniser.prepare(Grammar([Phrase(HEADING, "call")]), {})
    readings = [Reading(HEADING, sound)] * 4
    personal = fit(recogniser, readings)
    assert 0.8 <= personal.hangover_seconds <= 1.2
    assert (personal.margin_shift_nats, personal.gap_shift_nats, personal.fit_shift_nats) == (0.0, 0.0, 0.0)
    assert [len(pieces_of(sound, each)) for each in (USUAL, personal)] == [2, 1]
    assert weigh(recogniser, readings, USUAL)[0] == weigh(recogniser, readings, USUAL)[1]
