"""Word times by forced alignment, against speech whose words were put together at known times."""

from __future__ import annotations

import io
import subprocess
from itertools import pairwise

import numpy as np
import pytest
import soundfile
import soxr
from hypothesis import given
from hypothesis import strategies as st

from tests.forced_alignment import align
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.ports import Samples
from voice_trainer.recognition.word_times import spread


def word_sound(word: str) -> Samples:
    wav = subprocess.run(
        ["espeak-ng", "-v", "en-us", "--stdout", word], check=True, capture_output=True
    ).stdout
    sound, rate = soundfile.read(io.BytesIO(wav))
    loud = np.flatnonzero(np.abs(sound) > 0.01)
    resampled = soxr.resample(sound[loud[0] : loud[-1]], rate, 16_000)
    return (resampled * 20_000 / np.abs(resampled).max()).astype(np.int16)


def test_words_joined_with_pauses_are_found_where_they_were_put() -> None:
    words = ["turn", "left", "heading", "two", "eight", "four"]
    parts: list[Samples] = []
    onsets: list[float] = []
    for word in words:
        parts.append(np.zeros(4_800, np.int16))
        onsets.append(sum(map(len, parts)) / 16_000)
        parts.append(word_sound(word))
    parts.append(np.zeros(4_800, np.int16))
    timed = align(np.concatenate(parts), words, {})
    assert [text for text, _, _ in timed] == words
    off = [abs(start - onset) for (_, start, _), onset in zip(timed, onsets, strict=True)]
    # Measured on joined human digits: 15 ms in the median, 87 ms at the 95th percentile.
    assert float(np.median(off)) < 0.06
    assert max(off) < 0.2


def test_digital_silence_around_the_words_does_no_harm() -> None:
    words = ["maintain", "two", "thousand", "nine", "hundred"]
    sound = word_sound(" ".join(words))
    quiet = np.zeros(8_000, np.int16)
    hiss = np.random.default_rng(1).normal(0, 4, len(sound) + 16_000)
    silent = np.concatenate([quiet, sound, quiet])
    for (_, start, end), (_, other_start, other_end) in zip(
        align(silent, words, {}), align((silent + hiss).astype(np.int16), words, {}), strict=True
    ):
        assert start == pytest.approx(other_start, abs=0.05)
        assert end == pytest.approx(other_end, abs=0.05)


def test_a_word_that_no_dictionary_has_gets_the_pronunciation_that_is_given() -> None:
    sound = np.concatenate([np.zeros(3200, np.int16), word_sound("direct torvin"), np.zeros(3200, np.int16)])
    timed = align(sound, ["direct", "torvinx"], {"torvinx": "T AO R V IH N"})
    assert [text for text, _, _ in timed] == ["direct", "torvinx"]
    assert timed[1][1] > timed[0][1] + 0.1


def test_a_pronunciation_that_is_none_is_refused() -> None:
    with pytest.raises(RecogniserError, match="zorgle"):
        align(np.zeros(16_000, np.int16), ["zorgle"], {"zorgle": "Z QQ"})


def test_what_can_not_be_aligned_is_spread_over_the_sound() -> None:
    words = ["climb", "and", "maintain", "two", "thousand", "six", "hundred"]
    timed = align(np.zeros(1_600, np.int16), words, {})
    assert [text for text, _, _ in timed] == words
    assert timed[0][1] == 0.0
    assert timed[-1][2] == pytest.approx(0.1)


def test_no_words_have_no_times() -> None:
    assert align(np.zeros(1_600, np.int16), [], {}) == []


@given(
    st.lists(st.text("abcdef", min_size=1, max_size=12), min_size=1),
    st.floats(0, 1000),
    st.floats(0, 30),
)
def test_spread_words_follow_each_other_from_start_to_end(
    words: list[str], start: float, length: float
) -> None:
    timed = spread(words, start, start + length)
    assert [text for text, _, _ in timed] == words
    assert timed[0][1] == start
    assert timed[-1][2] == pytest.approx(start + length)
    for before, after in pairwise(timed):
        assert before[1] <= before[2] == after[1]
