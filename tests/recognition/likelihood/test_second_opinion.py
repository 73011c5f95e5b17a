"""The second opinion: which of a few sentences fits a sound, by a model that knows nothing of the first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from spoken_calls import grammar_of, speech

from tests.forced_alignment import align
from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser
from voice_trainer.recognition.likelihood.second_opinion import (
    LEADS_NATS,
    WEIGHT,
    Opinion,
    second_opinion,
)
from voice_trainer.recognition.likelihood.thresholds import CLEAR_FIT_NATS, Evidence, clarity
from voice_trainer.recognition.pocketsphinx_search import WordSearch
from voice_trainer.recognition.ports import Samples

DIGITS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
SEARCH = WordSearch()
OTHER_WORDS = "zero maintain thousand hundred until established turn left heading too minimums minimum fuel"
SEARCH.prepare((*DIGITS, *OTHER_WORDS.split()), {})


def words(text: str) -> tuple[str, ...]:
    return tuple(text.split())


def sentence(digit: str) -> tuple[str, ...]:
    return words(f"maintain two thousand {digit} hundred until established")


def agrees(sound: Samples, best: str, rivals: Sequence[str], behind_nats: float) -> bool:
    """Whether both together say that it was `best`, which the first model has so far ahead of all others."""
    opinion = opinion_of(sound, best, rivals, behind_nats)
    return opinion is not None and opinion.best == 0 and opinion.ahead_nats == LEADS_NATS[0]


def opinion_of(sound: Samples, best: str, rivals: Sequence[str], behind_nats: float) -> Opinion | None:
    sentences = [sentence(digit) for digit in (best, *rivals)]
    return second_opinion(SEARCH, sound, sentences, [0.0] + [-behind_nats] * len(rivals))


@pytest.mark.parametrize("digit", ["five", "eight", "nine"])
def test_it_tells_digits_that_the_neural_model_confuses(digit: str) -> None:
    sound = speech(" ".join(sentence(digit)).replace("nine", "niner"), "gmw/en-us")
    others = [other for other in DIGITS if other != digit]
    for order in (others, others[::-1]):
        opinion = opinion_of(sound, digit, order, 3.1)
        assert opinion is not None and opinion.best == 0
    for wrong in others:
        assert not agrees(sound, wrong, [digit], 3.1)


def test_what_the_neural_model_says_counts_too() -> None:
    sound = speech(" ".join(sentence("nine")), "gmw/en-us")
    assert not agrees(sound, "eight", ["nine"], 5.0)
    assert agrees(sound, "eight", ["nine"], 40.0)


def test_equal_sentences_take_the_whole_margin_from_the_neural_model() -> None:
    # The rival sounds the same, so that only the first model's margin is left.
    sound = speech("turn left heading two eight four")
    sentences = [
        words("turn left heading two eight four"),
        words("turn left heading too eight four"),
    ]

    def ahead_nats(behind_nats: float) -> float:
        opinion = second_opinion(SEARCH, sound, sentences, [0.0, -behind_nats])
        assert opinion is not None and opinion.best == 0
        return opinion.ahead_nats

    slack = 2 * WEIGHT
    more, less = LEADS_NATS
    assert ahead_nats(more + slack) == more
    assert ahead_nats(more - slack) == less
    assert ahead_nats(less - slack) == 0.0


def test_it_can_outvote_the_neural_model() -> None:
    sound = speech(" ".join(sentence("nine")), "gmw/en-us")
    opinion = opinion_of(sound, "eight", ["five", "nine"], 3.0)
    assert opinion is not None and opinion.best == 2


def test_words_that_leave_sound_unexplained_do_not_fit() -> None:
    said = speech("minimums one nine zero zero")
    right = second_opinion(SEARCH, said, [words("minimums one nine zero zero")], [0.0])
    wrong = second_opinion(SEARCH, said, [("minimum", "fuel")], [0.0])
    assert right is not None and right.fit > CLEAR_FIT_NATS
    assert wrong is None or wrong.fit < CLEAR_FIT_NATS


def test_it_is_the_same_every_time() -> None:
    sound = speech(" ".join(sentence("nine")))
    first = opinion_of(sound, "nine", DIGITS[:8], 2.0)
    opinion_of(speech("gear down"), "one", ["two"], 1.0)
    assert opinion_of(sound, "nine", DIGITS[:8], 2.0) == first


def test_its_word_times_are_those_of_an_alignment() -> None:
    sound = speech(" ".join(sentence("six")))
    opinion = opinion_of(sound, "six", ["seven"], 6.0)
    assert opinion is not None
    timed = opinion.timed
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
    assert opinion is None or not opinion.ahead_nats or opinion.fit < CLEAR_FIT_NATS


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
    ("gap", "margin", "opinion", "wanted"),
    [
        (15.0, 3.0, Opinion(0, 4.0, -2.5, ()), "clear"),
        (15.0, 3.0, Opinion(0, 2.0, -2.5, ()), "clear"),
        (29.0, 3.0, Opinion(0, 4.0, -2.5, ()), "clear"),
        (31.0, 3.0, Opinion(0, 4.0, -2.5, ()), "not a call"),
        (5.0, 9.0, Opinion(0, 0.0, -2.5, ()), "unclear"),  # the two don't agree on it
        (5.0, -6.5, Opinion(0, 4.0, -2.5, ()), "unclear"),  # the first is sure of something else
        (5.0, 9.0, Opinion(0, 4.0, -8.5, ()), "unclear"),  # it leaves much of the sound unexplained
        (5.0, -2.0, Opinion(0, 2.0, -4.0, ()), "unclear"),
        (5.0, 3.0, None, "unclear"),
        (24.0, 3.0, None, "not a call"),
    ],
)
def test_what_two_opinions_come_to(gap: float, margin: float, opinion: Opinion | None, wanted: str) -> None:
    assert clarity(Evidence(opinion, margin, gap, 10, "Maintain 2900.")) == wanted


def test_each_piece_of_evidence_counts_its_own_way() -> None:
    usual = Evidence(Opinion(0, 2.0, -4.0, ()), 1.0, 5.0, 10, "Maintain 2900.")
    assert replace(usual, margin=2.0).odds_nats > usual.odds_nats
    assert replace(usual, seconded=True).odds_nats > usual.odds_nats
    assert replace(usual, opinion=Opinion(0, 4.0, -4.0, ())).odds_nats > usual.odds_nats
    assert replace(usual, opinion=Opinion(0, 2.0, -5.0, ())).odds_nats < usual.odds_nats
    assert replace(usual, tokens=2).odds_nats < usual.odds_nats
    assert replace(usual, opinion=None).odds_nats == -math.inf


def test_what_the_model_writes_for_breath_is_never_clear() -> None:
    assert clarity(Evidence(Opinion(0, 4.0, -2.5, ()), 3.0, 4.0, 10, " Thank you. ")) == "unclear"
    assert clarity(Evidence(Opinion(0, 4.0, -2.5, ()), 3.0, 9.0, 10, "you")) != "clear"
