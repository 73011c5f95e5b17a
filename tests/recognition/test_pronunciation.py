from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.phraseology.phones import ARPABET
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.pronunciation import (
    TRADE_PRONUNCIATIONS,
    by_spelling,
    check_phones,
    from_ipa,
    pronounce,
)

INVENTED = ["kelda", "brannock", "heron", "tarnbeck", "oxmoor", "whinfell", "quarle", "zephyrine"]


@pytest.mark.parametrize("word", [*INVENTED, "localizer", "pitot", "selector", "crosscheck"])
def test_every_word_gets_phones_of_the_dictionary(word):
    assert set(pronounce(word).split()) <= ARPABET
    assert set(by_spelling(word).split()) <= ARPABET


def test_the_phones_are_the_39_of_the_cmu_dictionary():
    # The CMU Pronouncing Dictionary's own page: "The current phoneme set has 39 phonemes".
    assert len(ARPABET) == 39


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        # By the spelling's rules in English, as espeak-ng reads them.
        ("kelda", "K EH L D AH"),
        ("brannock", "B R AE N AH K"),
        # The CMU Pronouncing Dictionary, without stress.
        ("heading", "HH EH D IH NG"),
        ("throttle", "TH R AA T AH L"),
        ("thousand", "TH AW Z AH N D"),
        ("runway", "R AH N W EY"),
        ("inbound", "IH N B AW N D"),
    ],
)
def test_known_words_come_out_as_the_dictionary_has_them(word, phones):
    from voice_trainer.recognition.pronunciation import _by_espeak

    assert _by_espeak(word) == phones


def test_what_the_trade_says_goes_before_a_guess():
    # Common practice: the French name's t is silent.
    assert pronounce("pitot") == "P IY T OW"


@pytest.mark.parametrize("word", sorted(TRADE_PRONUNCIATIONS))
def test_the_trades_own_pronunciations_are_valid(word):
    for phones in TRADE_PRONUNCIATIONS[word]:
        assert check_phones(word, phones) == phones


def test_given_phones_may_be_written_with_stress_and_in_lower_case():
    assert check_phones("kelda", "k eh1 l d ah0") == "K EH L D AH"


@pytest.mark.parametrize("phones", ["K EH LL D", "kelda", ""])
def test_phones_that_are_none_are_named(phones):
    with pytest.raises(RecogniserError, match="'kelda'"):
        check_phones("kelda", phones)


@given(st.text("abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=15))
def test_any_letters_can_be_spelt_out(word):
    phones = by_spelling(word).split()
    assert phones
    assert set(phones) <= ARPABET


@given(st.text(max_size=20))
def test_any_phonemes_give_phones_or_nothing(ipa):
    assert set(from_ipa(ipa).split()) <= ARPABET


def test_a_word_without_a_sound_is_refused():
    with pytest.raises(RecogniserError, match="give one with the drill"):
        pronounce("---")
