"""How long a gap is: long enough for whoever answers at the pace that was set."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.tracks.pacing import (
    BETWEEN_CALLS_SECONDS,
    REACTION_SECONDS,
    Answer,
    Pace,
    gap_seconds,
    pace_of,
)

ANSWERS = st.lists(st.builds(Answer, st.integers(1, 60), st.floats(0.2, 40)), min_size=1, max_size=40)


@given(ANSWERS, st.floats(40, 300))
def test_every_word_has_its_time_at_the_set_rate(answers: list[Answer], words_per_minute: float) -> None:
    gap = gap_seconds(answers, Pace(words_per_minute))
    breaths = (len(answers) - 1) * BETWEEN_CALLS_SECONDS
    assert (
        gap >= REACTION_SECONDS + breaths + sum(each.words for each in answers) * 60 / words_per_minute - 1e-9
    )
    assert gap >= gap_seconds(answers, Pace(min(300.0, words_per_minute + 10)))
    assert gap_seconds([*answers, Answer(1, 0.3)], Pace(words_per_minute)) > gap


@given(ANSWERS)
def test_a_factor_is_of_the_voice(answers: list[Answer]) -> None:
    spoken = sum(each.seconds for each in answers)
    rest = REACTION_SECONDS + (len(answers) - 1) * BETWEEN_CALLS_SECONDS
    assert gap_seconds(answers, pace_of("1")) == pytest.approx(rest + spoken)
    assert gap_seconds(answers, pace_of("0.5")) == pytest.approx(rest + 2 * spoken)


def test_digits_that_the_voice_takes_long_for_get_that_time() -> None:
    assert gap_seconds([Answer(2, 6.0)], Pace(160)) == pytest.approx(REACTION_SECONDS + 6.0)


def test_what_is_neither_words_a_minute_nor_a_factor_is_no_pace() -> None:
    assert (pace_of("120"), pace_of("0.8")) == (Pace(120.0), Pace(None, 0.8))
    for text in ("0", "10", "301", "nan", "inf", "", "fast", "-1"):
        with pytest.raises(ValueError):
            pace_of(text)
