from __future__ import annotations

import itertools
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.recognition.phrases import grammar
from voice_trainer.journal.hearing import HeardWord
from voice_trainer.recognition.reading import evenly_spaced, plain_words, read_words
from voice_trainer.recognition.typed import hear_text

GRAMMAR = grammar()


def said(text: str) -> list[HeardWord]:
    words = text.split()
    return evenly_spaced(words, 10.0, 10.0 + len(words))


def test_words_become_spans_with_slots_and_times():
    (reading,) = read_words(said("turn left heading two eight niner timer started"), GRAMMAR, -12.5)
    turn, timer = reading.spans
    assert (turn.kind, turn.text) == ("call", "turn left heading two eight nine")
    assert turn.meanings[0].slots["heading"] == "289"
    assert (turn.start_seconds, turn.end_seconds) == (10.0, 16.0)
    assert (timer.kind, timer.start_seconds, timer.end_seconds) == ("call", 16.0, 18.0)
    assert reading.log_likelihood == -12.5


def test_words_of_nobody_are_other_and_lost_on_nobody():
    (reading,) = read_words(said("lovely weather roger trainer freeze"), GRAMMAR)
    assert [(span.kind, span.text) for span in reading.spans] == [
        ("other", "lovely weather"),
        ("trade", "roger"),
        ("control", "trainer freeze"),
    ]


def test_several_words_that_become_one_lend_it_their_time():
    words = plain_words(said("five d m e"))
    assert [(word.text, word.start_seconds, word.end_seconds) for word in words] == [
        ("five", 10.0, 11.0),
        ("dme", 11.0, 14.0),
    ]


def test_a_word_that_becomes_several_shares_its_time():
    words = plain_words(said("heading 284"))
    assert [word.text for word in words] == ["heading", "two", "eight", "four"]
    assert [word.start_seconds for word in words[1:]] == pytest.approx([11.0, 11 + 1 / 3, 11 + 2 / 3])
    assert words[-1].end_seconds == 12.0


def test_a_filler_takes_its_time_with_it():
    words = plain_words(said("heading uh two"))
    assert [(word.text, word.start_seconds, word.end_seconds) for word in words] == [
        ("heading", 10.0, 11.0),
        ("two", 12.0, 13.0),
    ]


def test_no_words_are_no_reading():
    assert read_words([], GRAMMAR) == ()
    assert read_words(said("um"), GRAMMAR) == ()


TEXTS = (
    "turn",
    "left",
    "284",
    "x-ray",
    "d",
    "m",
    "e",
    "um",
    "standby",
    "2,600",
    "--",
    "niner",
    "v",
    "o",
    "r",
)
spoken_texts = st.lists(st.sampled_from(TEXTS), max_size=12)


@given(spoken_texts)
def test_times_are_in_order_and_inside(texts):
    words = plain_words(evenly_spaced(texts, 5.0, 9.0))
    for word in words:
        assert 5.0 <= word.start_seconds <= word.end_seconds <= 9.0 + 1e-9
    for before, after in itertools.pairwise(words):
        assert before.end_seconds <= after.start_seconds + 1e-9
    for reading in read_words(evenly_spaced(texts, 5.0, 9.0), GRAMMAR):
        assert [word for span in reading.spans for word in span.words] == words


def test_typed_text_is_heard_without_doubt():
    hearing = hear_text("Turn left, heading 284.", GRAMMAR, 3.0, 0.5)
    assert hearing.clarity == "clear"
    assert hearing.text == "turn left heading two eight four"
    assert hear_text("  ", GRAMMAR, 3.0, 0.5).clarity == "not a call"


@pytest.mark.parametrize(
    "said_over_and_over", ["turn left", "turn left heading two eight four and fox", "fox"]
)
def test_a_line_of_any_length_is_read_at_once(said_over_and_over: str) -> None:
    """The processor's time counts, so a busy machine does not; looked for word by word, it was two minutes."""
    words = list(itertools.islice(itertools.cycle(said_over_and_over.split()), 2400))
    hear_text("turn left", GRAMMAR, 0.0, 0.3)
    began = time.process_time()
    hearing = hear_text(" ".join(words), GRAMMAR, 0.0, 0.3)
    assert time.process_time() - began < 10
    assert hearing.best is not None
    assert sum(len(span.words) for span in hearing.best.spans) >= 2400 - 6
