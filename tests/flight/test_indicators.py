"""Needles and their scales, against what is written of each display."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.indicators import (
    GLIDEPATH,
    HSI_TWO_DOTS,
    RNAV_APPROACH,
    RNAV_TERMINAL,
    SCALES,
    VOR_CIRCLE,
    VOR_FIVE_DOTS,
    Scale,
    is_sensitivity_usual,
    localizer_scale,
    offset_nm,
)

scales = st.sampled_from(SCALES)


# FAA-H-8083-15: full deflection 12 degrees or more, outer edge of the centre circle 2, each dot 2 more.
def test_the_circle_and_its_dots() -> None:
    assert VOR_CIRCLE.dots_off(2) == pytest.approx(1)
    assert VOR_CIRCLE.dots_off(4) == pytest.approx(2)
    assert VOR_CIRCLE.deflection(12) == VOR_CIRCLE.deflection(40) == 1.0


# Tutorials: five dots of 2 degrees are 10 at full scale.
def test_five_dots() -> None:
    assert VOR_FIVE_DOTS.full_scale == 10
    assert VOR_FIVE_DOTS.per_dot == 2
    assert VOR_FIVE_DOTS.dots_off(-3) == pytest.approx(-1.5)


# Notes to AFMAN 11-217: two dots, 10 degrees full, 5 a dot.
def test_an_hsi_of_two_dots() -> None:
    assert HSI_TWO_DOTS.full_scale == 10
    assert HSI_TWO_DOTS.per_dot == 5


# The check of course sensitivity: 10 to 12 degrees from the centre to the last dot.
def test_the_usual_sensitivity() -> None:
    assert all(is_sensitivity_usual(scale) for scale in (VOR_CIRCLE, VOR_FIVE_DOTS, HSI_TWO_DOTS))
    assert not is_sensitivity_usual(localizer_scale(5))
    assert not is_sensitivity_usual(Scale("worn", 12.1, 5))
    assert not is_sensitivity_usual(Scale("wide", 11.0, 2, "nautical miles"))


# AIM 1-1-17 and 1-1-9, from memory.
def test_scales_from_memory() -> None:
    assert (RNAV_TERMINAL.full_scale, RNAV_APPROACH.full_scale) == (1.0, 0.3)
    assert RNAV_TERMINAL.unit == RNAV_APPROACH.unit == "nautical miles"
    assert RNAV_APPROACH.deflection(-0.15) == pytest.approx(-0.5)
    assert GLIDEPATH.full_scale == 0.7
    assert localizer_scale(5).full_scale == 2.5


# Computed: 1 degree at 30 miles is half a mile; 2 degrees, one dot, 1 mile.
@pytest.mark.parametrize(("degrees", "nm"), [(1, 0.5), (2, 1.0), (-2, -1.0)])
def test_degrees_as_miles(degrees: float, nm: float) -> None:
    assert offset_nm(degrees, 30) == pytest.approx(nm, rel=0.05)
    assert VOR_FIVE_DOTS.dots_off(degrees) == pytest.approx(degrees / 2)


@given(scales, st.floats(-40, 40))
def test_the_needle_is_alive_before_it_stops(scale: Scale, deviation: float) -> None:
    assert scale.is_alive(deviation) == (abs(scale.deflection(deviation)) < 1.0)
    assert abs(scale.dots_off(deviation)) <= scale.dots
    assert scale.deflection(-deviation) == -scale.deflection(deviation)


@given(scales, st.floats(-0.999, 0.999))
def test_dots_and_back(scale: Scale, part: float) -> None:
    deviation = part * scale.full_scale
    assert scale.dots_off(deviation) * scale.per_dot == pytest.approx(deviation)


def test_within_dots() -> None:
    assert HSI_TWO_DOTS.is_within(5, 1)
    assert not HSI_TWO_DOTS.is_within(5.1, 1)
    assert not HSI_TWO_DOTS.is_within(30, 2), "a needle on its stop is nowhere in particular"


@pytest.mark.parametrize(("full", "dots"), [(0.0, 2), (-1.0, 2), (10.0, 0), (float("nan"), 2)])
def test_no_such_scale(full: float, dots: int) -> None:
    with pytest.raises(ValueError, match="scale 'odd'"):
        Scale("odd", full, dots)
