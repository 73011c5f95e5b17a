"""The second opinion: which of a few sentences fits a sound, by a model that knows nothing of the first."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from spoken_calls import grammar_of, speech

from voice_trainer.recognition.alignment import align, shared_aligner
from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser
from voice_trainer.recognition.likelihood.second_opinion import TOGETHER_NATS, WEIGHT, Opinion, second_opinion
from voice_trainer.recognition.likelihood.thresholds import CLEAR_FIT_NATS, FreeSpeech, clarity
from voice_trainer.recognition.ports import Samples

DIGITS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
FREE = FreeSpeech("Maintain 2900.", ended=True)


def words(text: str) -> tuple[str, ...]:
    return tuple(text.split())


def sentence(digit: str) -> tuple[str, ...]:
    return words(f"maintain two thousand {digit} hundred until established")


def opinion_of(sound: Samples, best: str, rivals: Sequence[str], behind_nats: float) -> Opinion:
    sentences = [sentence(digit) for digit in (best, *rivals)]
    behind = [0.0] + [behind_nats] * len(rivals)
    return second_opinion(sound, sentences, behind, shared_aligner().phones)


@pytest.mark.parametrize("digit", ["five", "nine"])
def test_it_tells_digits_that_the_neural_model_confuses(digit: str) -> None:
    sound = speech(" ".join(sentence(digit)).replace("nine", "niner"), "gmw/en-us")
    others = [other for other in DIGITS if other != digit]
    assert opinion_of(sound, digit, others, 3.1).agrees
    assert opinion_of(sound, digit, others[::-1], 3.1).agrees
    for wrong in others:
        assert not opinion_of(sound, wrong, [digit], 3.1).agrees


def test_what_the_neural_model_says_counts_too() -> None:
    sound = speech(" ".join(sentence("nine")), "gmw/en-us")
    assert not opinion_of(sound, "eight", ["nine"], 5.0).agrees
    assert opinion_of(sound, "eight", ["nine"], 40.0).agrees


def test_equal_sentences_take_the_whole_margin_from_the_neural_model() -> None:
    # The rival sounds the same, so that only the first model's margin is left.
    sound = speech("turn left heading two eight four")
    sentences = [
        words("turn left heading two eight four"),
        words("turn left heading too eight four"),
    ]
    phones = shared_aligner().phones
    assert phones("two") == phones("too")
    slack = 2 * WEIGHT
    assert second_opinion(sound, sentences, [0.0, TOGETHER_NATS + slack], phones).agrees
    assert not second_opinion(sound, sentences, [0.0, TOGETHER_NATS - slack], phones).agrees


def test_words_that_leave_sound_unexplained_do_not_fit() -> None:
    said = speech("minimums one nine zero zero")
    phones = shared_aligner().phones
    right = second_opinion(said, [words("minimums one nine zero zero")], [0.0], phones)
    wrong = second_opinion(said, [("minimum", "fuel")], [0.0], phones)
    assert right.fit > CLEAR_FIT_NATS > wrong.fit


def test_it_is_the_same_every_time() -> None:
    sound = speech(" ".join(sentence("nine")))
    first = opinion_of(sound, "nine", DIGITS[:8], 2.0)
    opinion_of(speech("gear down"), "one", ["two"], 1.0)
    assert opinion_of(sound, "nine", DIGITS[:8], 2.0) == first


def test_its_word_times_are_those_of_an_alignment() -> None:
    sound = speech(" ".join(sentence("six")))
    timed = opinion_of(sound, "six", ["seven"], 6.0).timed
    assert [word for word, _, _ in timed] == list(sentence("six"))
    for (_, start, end), (_, other_start, other_end) in zip(
        timed, align(sound, sentence("six"), {}), strict=True
    ):
        assert start == pytest.approx(other_start, abs=0.06)
        assert end == pytest.approx(other_end, abs=0.06)


@pytest.mark.parametrize(
    "samples", [np.zeros(160, np.int16), np.zeros(0, np.int16), np.zeros(32_000, np.int16)]
)
def test_it_agrees_to_nothing_where_nothing_was_said(samples: Samples) -> None:
    opinion = opinion_of(samples, "one", ["two"], 20.0)
    assert not opinion.agrees or opinion.fit < CLEAR_FIT_NATS


@pytest.mark.slow
@pytest.mark.parametrize("shift_milliseconds", [0, 7, 13, 22, 31])
@pytest.mark.parametrize("digit", ["five", "eight", "nine"])
def test_a_shift_never_makes_a_digit_clear_and_wrong(
    other_engine: LikelihoodRecogniser, digit: str, shift_milliseconds: int
) -> None:
    other_engine.prepare(grammar_of("maintain {altitude: 2600} [until established]", "gear down"), {})
    sound = speech(" ".join(sentence(digit)).replace("nine", "niner"), "gmw/en-us")
    hearing = other_engine.hear(np.concatenate([np.zeros(16 * shift_milliseconds, np.int16), sound]), 0.0)
    assert hearing.clarity == "unclear" or hearing.text == " ".join(sentence(digit))


@pytest.mark.parametrize(
    ("margin", "gap", "agrees", "fit", "wanted"),
    [
        (2.5, 15.0, True, -2.5, "clear"),
        (8.0, 24.0, True, -2.5, "clear"),
        (8.0, 27.0, True, -2.5, "unclear"),
        (8.0, 40.0, True, -2.5, "not a call"),
        (0.3, 0.0, True, -2.5, "unclear"),
        (8.0, 5.0, True, -12.0, "unclear"),
        (8.0, 5.0, False, -math.inf, "unclear"),
        (8.0, 24.0, False, -math.inf, "not a call"),
    ],
)
def test_what_two_opinions_come_to(margin: float, gap: float, agrees: bool, fit: float, wanted: str) -> None:
    assert clarity(margin, gap, 10, FREE, Opinion(agrees, fit, ())) == wanted
