"""What the evidence of a hearing comes to."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.recognition.likelihood.thresholds import (
    CALL_GAP_NATS,
    CLEAR_AHEAD_NATS,
    CLEAR_GAP_NATS,
    GAP_PER_WORD_NATS,
    LIKE_GAP_NATS,
    SILENT_GAP_NATS,
    Evidence,
    clarity,
)

HEADING = ("turn", "left", "heading", "two", "eight", "four")
TALK = ("the", "cat", "is", "in", "the", "garden")
USUAL = Evidence(CLEAR_AHEAD_NATS + 1, 0.0, HEADING, HEADING, legal=True, is_phrase=True)
ORDER = ("not a call", "unclear", "clear")

WORDS = st.lists(st.sampled_from([*HEADING, *TALK]), max_size=7).map(tuple)
evidences = st.builds(
    Evidence,
    ahead_nats=st.floats(-30, 30),
    gap_nats=st.floats(-30, 60),
    words=WORDS,
    free_words=WORDS,
    legal=st.booleans(),
    is_phrase=st.booleans(),
)


@pytest.mark.parametrize(
    ("evidence", "wanted"),
    [
        (USUAL, "clear"),
        (replace(USUAL, ahead_nats=CLEAR_AHEAD_NATS), "clear"),
        (replace(USUAL, gap_nats=CLEAR_GAP_NATS), "clear"),
        (replace(USUAL, ahead_nats=CLEAR_AHEAD_NATS - 0.01), "unclear"),
        (replace(USUAL, ahead_nats=-1.0), "unclear"),
        (replace(USUAL, gap_nats=CLEAR_GAP_NATS + 0.01), "unclear"),
        # No value, or a beginning, however sure the model is of it.
        (replace(USUAL, legal=False), "unclear"),
        (replace(USUAL, legal=False, ahead_nats=14.0), "unclear"),
        # Other words explain the sound better.
        (replace(USUAL, free_words=TALK, gap_nats=CALL_GAP_NATS), "unclear"),
        (replace(USUAL, free_words=TALK, gap_nats=CALL_GAP_NATS + 0.01), "not a call"),
        # A drowned call: most of its words are there.
        (replace(USUAL, free_words=HEADING[:4], gap_nats=LIKE_GAP_NATS), "unclear"),
        (replace(USUAL, free_words=HEADING[:4], gap_nats=LIKE_GAP_NATS + 0.01), "not a call"),
        (replace(USUAL, free_words=HEADING[3:4], gap_nats=LIKE_GAP_NATS), "not a call"),
        # A bare value may be anything.
        (replace(USUAL, free_words=HEADING[:4], gap_nats=LIKE_GAP_NATS, is_phrase=False), "not a call"),
        # Nothing was written: never clear, and a call only where one is near.
        (replace(USUAL, free_words=()), "unclear"),
        (replace(USUAL, free_words=(), gap_nats=SILENT_GAP_NATS + 0.01), "not a call"),
        (replace(USUAL, free_words=(), words=("nine",), is_phrase=False), "not a call"),
        # One word is soon like some other.
        (replace(USUAL, words=("low",), free_words=("hello",), gap_nats=GAP_PER_WORD_NATS), "clear"),
        (
            replace(USUAL, words=("low",), free_words=("hello",), gap_nats=GAP_PER_WORD_NATS + 0.01),
            "not a call",
        ),
        # A digit that belongs to nothing, for a breath; and many words, for speech that noise drowns.
        (replace(USUAL, words=("nine",), free_words=("the",), is_phrase=False, legal=False), "not a call"),
        (replace(USUAL, free_words=TALK, is_phrase=False, legal=False), "unclear"),
    ],
)
def test_what_it_comes_to(evidence: Evidence, wanted: str) -> None:
    assert clarity(evidence) == wanted


def rank(evidence: Evidence) -> int:
    return ORDER.index(clarity(evidence))


@given(evidences, st.floats(0, 40))
def test_more_gap_never_makes_it_clearer(evidence: Evidence, more: float) -> None:
    assert rank(replace(evidence, gap_nats=evidence.gap_nats + more)) <= rank(evidence)


@given(evidences, st.floats(0, 40))
def test_less_margin_never_makes_it_clearer(evidence: Evidence, less: float) -> None:
    assert rank(replace(evidence, ahead_nats=evidence.ahead_nats - less)) <= rank(evidence)


@given(evidences)
def test_what_is_no_sentence_is_never_clear(evidence: Evidence) -> None:
    illegal = replace(evidence, legal=False)
    assert clarity(illegal) != "clear"
    assert rank(illegal) <= rank(evidence)


@given(evidences)
def test_where_nothing_was_written_nothing_is_clear(evidence: Evidence) -> None:
    assert clarity(replace(evidence, free_words=())) != "clear"
