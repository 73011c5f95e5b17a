"""The real pocketsphinx on synthetic speech."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tests.recognition.phrases import grammar
from tests.recognition.sounds import RATE, noise, silence, spoken
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.pocketsphinx_engine import PocketsphinxRecogniser

GRAMMAR = grammar()


@pytest.fixture(scope="module")
def recogniser() -> PocketsphinxRecogniser:
    made = PocketsphinxRecogniser()
    made.prepare(GRAMMAR, {})
    return made


@pytest.mark.parametrize("voice", ["slt", "rms", "awb"])
def test_a_call_is_heard_with_its_values(recogniser, voice):
    hearing = recogniser.hear(spoken("turn left heading two eight four", voice), 100.0)
    assert hearing.text == "turn left heading two eight four"
    (span,) = hearing.best.spans
    assert span.kind == "call"
    assert span.meanings[0].slots["heading"] == "284"
    assert hearing.clarity == "clear"
    assert hearing.margin > 0
    assert hearing.engine == recogniser.name


@pytest.mark.parametrize(
    ("said", "heard"),
    [
        ("turn right heading two eight four", "turn right heading two eight four"),
        ("turn left heading zero niner zero", "turn left heading zero nine zero"),
        ("landing gear up", "landing gear up"),
        ("timer stopped", "timer stopped"),
        ("pitot heat off", "pitot heat off"),
        ("roger", "roger"),
    ],
)
def test_what_the_drill_does_not_want_is_heard_as_well(recogniser, said, heard):
    assert recogniser.hear(spoken(said.replace("pitot", "peetoh"), "slt"), 0.0).text == heard


def test_the_value_that_is_expected_changes_nothing():
    sounds = [spoken("turn left heading two eight four"), spoken("turn left heading zero niner zero", "rms")]
    hearings = []
    for wanted in ("heading: 284", "heading: 090", "heading: 311"):
        recogniser = PocketsphinxRecogniser()
        recogniser.prepare(grammar(("heading: 284", wanted)), {})
        hearings.append([recogniser.hear(sound, 0.0) for sound in sounds])
    assert hearings[0] == hearings[1] == hearings[2]


def test_the_same_sound_is_heard_the_same_again(recogniser):
    sound = spoken("landing gear down", "awb")
    first = recogniser.hear(sound, 0.0)
    recogniser.hear(spoken("timer started", "rms"), 0.0)
    assert recogniser.hear(sound, 0.0) == first


def test_several_calls_in_one_breath(recogniser):
    sound = np.concatenate(
        [spoken(text) for text in ("landing gear down", "timer started", "throttle to idle")]
    )
    hearing = recogniser.hear(sound, 10.0)
    assert [span.text for span in hearing.best.spans] == [
        "landing gear down",
        "timer started",
        "throttle to idle",
    ]


def test_words_lie_where_they_were_said(recogniser):
    first, second = spoken("landing gear down"), spoken("timer started")
    hearing = recogniser.hear(np.concatenate([first, silence(0.5), second]), 100.0)
    gear, timer = hearing.best.spans
    # Each clip has 0.3 s of quiet on both sides; a word's edge is a matter of opinion by a tenth.
    assert gear.start_seconds == pytest.approx(100.3, abs=0.15)
    assert gear.end_seconds == pytest.approx(100 + len(first) / RATE - 0.3, abs=0.15)
    assert timer.start_seconds == pytest.approx(100 + len(first) / RATE + 0.5 + 0.3, abs=0.15)
    words = [word for span in hearing.best.spans for word in span.words]
    assert all(a.end_seconds <= b.start_seconds + 0.011 for a, b in itertools.pairwise(words))


@pytest.mark.parametrize("seconds", [0.05, 0.5, 2.0])
def test_silence_and_noise_are_no_call(recogniser, seconds):
    for sound in (silence(seconds), noise(seconds), np.zeros(int(seconds * RATE), np.int16)):
        hearing = recogniser.hear(sound, 7.0)
        assert hearing.clarity == "not a call"
        assert hearing.end_seconds == pytest.approx(7.0 + seconds)


@pytest.mark.parametrize(
    "said",
    [
        "i had a sandwich for lunch today",
        "the weather looks nice this afternoon",
        "where did i leave my pencil",
        "can you pass me the salt please",
    ],
)
def test_other_speech_is_never_a_clear_call(recogniser, said):
    for voice in ("slt", "rms"):
        assert recogniser.hear(spoken(said, voice), 0.0).clarity != "clear"


def test_every_call_that_is_returned_is_a_phrase_of_the_grammar(recogniser):
    for said in ("turn left at the lights please", "two eight four", "descend and maintain"):
        hearing = recogniser.hear(spoken(said), 0.0)
        for reading in hearing.interpretations:
            for span in reading.spans:
                if span.kind == "other":
                    assert span.meanings == ()
                else:
                    assert all(meaning.phrase in GRAMMAR.by_text for meaning in span.meanings)
                    pieces = GRAMMAR.read([word.text for word in span.words])[0]
                    assert [piece.kind for piece in pieces] == [span.kind]


def test_words_that_no_dictionary_has_are_guessed_and_reported():
    kelda = Grammar([Phrase(compile_pattern("passing quarle and wrexby"), "call")])
    recogniser = PocketsphinxRecogniser()
    guessed = dict(recogniser.prepare(kelda, {}).guessed_words)
    assert set(guessed) == {"wrexby", "quarle"}
    assert recogniser.prepare(kelda, {"quarle": "K W AA1 R L"}).guessed_words == (
        ("wrexby", "R EH K S B IY"),
    )
    hearing = recogniser.hear(spoken("passing quarl and wrexby"), 0.0)
    assert hearing.text == "passing quarle and wrexby"


def test_phones_that_are_none_are_refused_by_name():
    with pytest.raises(RecogniserError, match="'timer'"):
        PocketsphinxRecogniser().prepare(GRAMMAR, {"timer": "T AYE M ER"})


def test_no_samples_are_no_call(recogniser):
    assert recogniser.hear(np.zeros(0, np.int16), 1.0).clarity == "not a call"


def test_it_must_be_prepared_first():
    with pytest.raises(RecogniserError, match="prepare"):
        PocketsphinxRecogniser().hear(silence(1.0), 0.0)


def test_the_model_is_named_by_its_content(recogniser):
    assert recogniser.name == "pocketsphinx 5.1.1"
    assert len(recogniser.model_hash) == 64
    assert recogniser.model_hash == PocketsphinxRecogniser().model_hash


def test_nothing_is_written_to_the_terminal(recogniser, capfd):
    recogniser.prepare(GRAMMAR, {})
    recogniser.hear(spoken("landing gear down"), 0.0)
    recogniser.hear(noise(1.0), 0.0)
    assert capfd.readouterr() == ("", "")
