"""Sentences pooled by what they mean: nothing is lost, nothing counted twice, and what differs stays apart."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from spoken_calls import grammar_of

from voice_trainer.recognition.likelihood.meanings import Reader, Wording, pooled

GRAMMAR = grammar_of(
    "[turn] left heading {heading: 284}", "gear down", "(climb | descend) [and maintain] {altitude: 3000}"
)
READER = Reader(GRAMMAR)

TEXTS = (
    "turn left heading two eight four",
    "left heading two eight four",
    "turn left heading two eight five",
    "turn left heading",
    "turn left heading four five zero",
    "gear down",
    "gear down gear down",
    "climb and maintain three thousand",
    "climb three thousand",
    "descend three thousand",
)
LEGAL = {text: GRAMMAR.sentences.accepts(text.split()) for text in TEXTS}


def wording(text: str, log_likelihood: float) -> Wording:
    return Wording(tuple(text.split()), log_likelihood, LEGAL[text])


wordings = st.lists(st.builds(wording, st.sampled_from(TEXTS), st.floats(-40, 0)), max_size=10)


def test_ways_to_say_the_same_add_up() -> None:
    (best, other) = pooled(
        [
            wording("turn left heading two eight four", math.log(0.3)),
            wording("left heading two eight four", math.log(0.2)),
            wording("turn left heading two eight five", math.log(0.4)),
        ],
        READER,
    )
    assert " ".join(best.words) == "turn left heading two eight four"
    assert best.log_likelihood == pytest.approx(math.log(0.5))
    assert other.log_likelihood == pytest.approx(math.log(0.4))


def test_one_sentence_found_twice_counts_once_as_its_likelier() -> None:
    (only,) = pooled(
        [wording("gear down", -3.0), wording("gear down", -1.0), wording("gear down", -2.0)], READER
    )
    assert only.log_likelihood == -1.0


def test_a_call_said_twice_means_what_it_means_once() -> None:
    (only,) = pooled([wording("gear down", -1.0), wording("gear down gear down", -9.0)], READER)
    assert only.words == ("gear", "down")


@pytest.mark.parametrize(
    ("one", "two"),
    [
        ("turn left heading two eight four", "turn left heading two eight five"),
        ("climb three thousand", "descend three thousand"),
        ("turn left heading", "turn left heading two eight four"),
        ("turn left heading four five zero", "turn left heading two eight four"),
        ("turn left heading four five zero", "turn left heading"),
    ],
)
def test_what_means_something_else_is_a_rival(one: str, two: str) -> None:
    assert len(pooled([wording(one, -1.0), wording(two, -2.0)], READER)) == 2


def test_a_beginning_is_never_pooled_with_a_whole_sentence_of_the_same_words() -> None:
    words = ("gear", "down")
    found = pooled([Wording(words, -1.0, legal=True), Wording(words, -2.0, legal=False)], READER)
    assert [meant.legal for meant in found] == [True, False]


def test_of_nothing_comes_nothing() -> None:
    assert pooled([], READER) == []


@given(wordings, st.randoms())
def test_the_order_in_which_they_were_found_is_nothing(found: list[Wording], random: object) -> None:
    other = list(found)
    random.shuffle(other)  # type: ignore[attr-defined]
    for one, two in zip(pooled(found, READER), pooled(other, Reader(GRAMMAR)), strict=True):
        assert (one.words, one.pieces, one.legal) == (two.words, two.pieces, two.legal)
        assert one.log_likelihood == pytest.approx(two.log_likelihood)


@given(wordings)
def test_all_probability_stays_and_the_likeliest_is_first(found: list[Wording]) -> None:
    best: dict[tuple[str, ...], float] = {}
    for each in found:
        best[each.words] = max(best.get(each.words, -math.inf), each.log_likelihood)
    together = pooled(found, READER)
    assert math.fsum(math.exp(m.log_likelihood) for m in together) == pytest.approx(
        math.fsum(map(math.exp, best.values()))
    )
    ranked = [meant.log_likelihood for meant in together]
    assert ranked == sorted(ranked, reverse=True)
    assert all(meant.log_likelihood >= best[meant.words] - 1e-9 for meant in together)
    assert all(meant.legal == LEGAL[" ".join(meant.words)] for meant in together)
