"""A profile never makes a wrong value easier than its documented floor."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from voice_trainer.journal.personal import Count, Personal, Profile
from voice_trainer.recognition.likelihood.thresholds import CLEAR_AHEAD_NATS, Evidence, clarity
from voice_trainer.recognition.personal import LEAST_MARGIN_NATS, USUAL, made_personal, shifted
from voice_trainer.recognition.scripted import ScriptedRecogniser

LOOSEST = Personal(gap_shift_nats=-4.0, fit_shift_nats=1.5)

personals = st.builds(
    Personal,
    margin_shift_nats=st.floats(-4, 0),
    gap_shift_nats=st.floats(-4, 4),
    fit_shift_nats=st.floats(-2, 1.5),
)
margins = st.floats(-5, 30)
gaps = st.floats(-30, 60)
fits = st.one_of(st.floats(-40, 0), st.just(-math.inf))


HEADING = ("turn", "left", "heading", "two", "eight", "four")


def judged(personal: Personal, margin: float, gap: float, *, legal: bool = True) -> str:
    own_margin, own_gap, _ = shifted(personal, margin, gap, 0.0)
    return clarity(Evidence(own_margin, own_gap, HEADING, HEADING, legal, is_phrase=True))


@given(personals, margins, gaps, st.booleans())
def test_what_only_a_profile_makes_clear_is_beyond_the_floor(
    personal: Personal, margin: float, gap: float, legal: bool
) -> None:
    if judged(personal, margin, gap, legal=legal) != "clear":
        return
    assert legal
    assert margin >= CLEAR_AHEAD_NATS
    if judged(USUAL, margin, gap, legal=legal) != "clear":
        assert margin >= LEAST_MARGIN_NATS
        assert judged(USUAL, margin, gap - 4.0, legal=legal) == "clear"


@given(personals, st.floats(-5, LEAST_MARGIN_NATS, exclude_max=True), gaps)
def test_a_near_rival_is_never_overruled(personal: Personal, margin: float, gap: float) -> None:
    if judged(personal, margin, gap) == "clear":
        assert judged(USUAL, margin, gap) == "clear"


@given(margins, gaps, fits)
def test_without_a_profile_nothing_is_shifted(margin: float, gap: float, fit: float) -> None:
    assert shifted(USUAL, margin, gap, fit) == (margin, gap, fit)


@pytest.mark.parametrize(
    "values",
    [
        {"margin_shift_nats": 0.1},
        {"margin_shift_nats": -4.1},
        {"gap_shift_nats": -4.1},
        {"fit_shift_nats": 1.6},
        {"hangover_seconds": 0.5},
        {"hangover_seconds": 1.3},
        {"input_gain_db": 21},
        {"fit_shift_nats": math.nan},
        {"fit_shift_nats": math.inf},
    ],
)
def test_no_profile_is_beyond_the_limits(values: dict[str, float]) -> None:
    with pytest.raises(ValidationError):
        Personal.model_validate(values)


def test_a_profile_of_another_model_is_not_used() -> None:
    recogniser = ScriptedRecogniser(["gear down"])
    none = Count(prompts=8, right=8, wrong=0)
    profile = Profile(
        made_utc="2026-11-25T10:00:00+00:00",
        engine=recogniser.name,
        model_hash=recogniser.model_hash,
        microphone="m",
        noise_floor_dbfs=-60,
        speech_dbfs=-26,
        values=LOOSEST,
        before=none,
        after=none,
    )
    assert made_personal(recogniser, profile) == profile
    assert made_personal(recogniser, profile.model_copy(update={"model_hash": "0" * 64})) is None
    assert made_personal(recogniser, profile.model_copy(update={"engine": "scripted 0"})) is None
    assert made_personal(recogniser, None) is None
