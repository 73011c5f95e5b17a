"""Which words the speech model spells well, heard from real synthetic voices."""

from __future__ import annotations

import pytest
from spoken_calls import speech

from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser
from voice_trainer.recognition.ports import Speller

VOICES = ("gmw/en-us", "gmw/en-us+f3", "gmw/en-gb-x-rp")


@pytest.mark.parametrize(("word", "is_hard"), [("heading", False), ("altitude", False), ("zqrxt", True)])
def test_a_word_that_nobody_can_spell_is_told_from_words_of_every_day(
    other_engine: LikelihoodRecogniser, word: str, is_hard: bool
) -> None:
    spelled = other_engine.spelled_word(word, [speech(word, voice) for voice in VOICES])
    assert (spelled.word, spelled.is_hard) == (word, is_hard)
    assert len(spelled.written) == len(VOICES) and all(spelled.written)


def test_the_engine_is_a_speller(other_engine: LikelihoodRecogniser) -> None:
    assert isinstance(other_engine, Speller)
