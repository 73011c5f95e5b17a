"""When words were said, against the voice that said them."""

from __future__ import annotations

from itertools import pairwise

import pytest
from word_onsets import speech_with_onsets

from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser, carried_over

MOST_OFF_SECONDS = 0.25


@pytest.mark.parametrize("voice", ["gmw/en-us", "gmw/en"])
@pytest.mark.parametrize(
    "said",
    [
        "turn left heading two eight four",
        "descend and maintain two thousand six hundred",
        "contact tower one one eight point seven",
        "heron two four kelda inbound three thousand six hundred",
        "hold outbound the zero four five radial right turns",
    ],
)
def test_each_word_begins_where_it_was_said(recogniser: LikelihoodRecogniser, said: str, voice: str) -> None:
    sound, onsets = speech_with_onsets(said, voice)
    hearing = recogniser.hear(sound, 50.0)
    assert hearing.text == said
    assert len(onsets) == len(hearing.words)
    off = {
        word.text: round(word.start_seconds - 50.0 - onset, 3)
        for word, onset in zip(hearing.words, onsets, strict=True)
    }
    assert max(map(abs, off.values())) < MOST_OFF_SECONDS, off
    for word, following in pairwise(hearing.words):
        assert word.start_seconds < word.end_seconds <= following.start_seconds + 0.011
    assert hearing.words[-1].end_seconds < hearing.end_seconds


def test_words_behind_what_is_left_out_begin_where_they_were_said(recogniser: LikelihoodRecogniser) -> None:
    """'left' is said twice and counts once: what follows is not moved by it."""
    sound, onsets = speech_with_onsets("turn left left heading three one zero", "gmw/en-us")
    hearing = recogniser.hear(sound, 0.0)
    assert hearing.text == "turn left heading three one zero"
    assert hearing.words[2].start_seconds == pytest.approx(onsets[3], abs=MOST_OFF_SECONDS)
    assert hearing.words[-1].start_seconds == pytest.approx(onsets[-1], abs=MOST_OFF_SECONDS)


def test_words_that_another_wording_shares_keep_their_times() -> None:
    timed = [("turn", 1.0, 1.2), ("left", 1.2, 1.5), ("heading", 1.5, 2.0), ("two", 2.0, 2.2)]
    assert carried_over(timed, ["turn", "right", "heading", "two"]) == [
        ("turn", 1.0, 1.2), ("right", 1.2, 1.5), ("heading", 1.5, 2.0), ("two", 2.0, 2.2)
    ]  # fmt: skip
    assert carried_over(timed, ["left", "heading", "two"]) == timed[1:]
    other = carried_over(timed, ["turn", "left", "heading", "twenty", "four"])
    assert [text for text, _, _ in other] == ["turn", "left", "heading", "twenty", "four"]
    assert other[:3] == timed[:3]
    assert (other[3][1], other[4][2]) == (2.0, 2.2)
