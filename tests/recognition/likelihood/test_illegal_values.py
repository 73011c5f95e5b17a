"""What is no value is not taken for the value that is nearest to it."""

from __future__ import annotations

import pytest
from spoken_calls import grammar_of, speech

from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser

CALLS = (
    "turn left heading {heading}",
    "maintain {altitude}",
    "passed kelda at {time}",
    "squawk {squawk}",
    "contact tower {frequency}",
    "{heading}",
)

ILLEGAL = (
    "turn left heading one thousand",
    "turn left heading four five zero",
    "turn left heading three one",
    "passed kelda at eight one five",
    "squawk four six two",
    "squawk four six two niner",
    "contact tower one one eight",
)

LEGAL = (
    "turn left heading one hundred",
    "turn left heading three five zero",
    "passed kelda at one eight one five",
    "squawk four six two one",
    "maintain two thousand niner hundred",
)


def grammar() -> Grammar:
    return grammar_of(*CALLS)


@pytest.mark.parametrize("said", ILLEGAL)
def test_no_value_is_never_clear(other_engine: LikelihoodRecogniser, said: str) -> None:
    other_engine.prepare(grammar(), {"kelda": "K EH L D AH"})
    hearing = other_engine.hear(speech(said), 0.0)
    assert hearing.clarity != "clear", hearing.text


@pytest.mark.parametrize("said", LEGAL)
def test_the_value_beside_it_is(other_engine: LikelihoodRecogniser, said: str) -> None:
    other_engine.prepare(grammar(), {"kelda": "K EH L D AH"})
    hearing = other_engine.hear(speech(said), 0.0)
    assert (hearing.clarity, hearing.text) == ("clear", said.replace("niner", "nine"))


def test_illegal_values_are_sentences_of_a_grammar_of_their_own() -> None:
    heard = grammar()
    for said in ILLEGAL:
        words = said.replace("niner", "nine").split()
        assert not heard.sentences.accepts(words)
        assert heard.sentences_with_illegal_values.accepts(words)
    for said in LEGAL:
        assert heard.sentences_with_illegal_values.accepts(said.replace("niner", "nine").split())
