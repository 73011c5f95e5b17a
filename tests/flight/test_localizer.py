"""A localizer's width and its two sides."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.courses import reciprocal
from voice_trainer.flight.descent import FEET_PER_NM
from voice_trainer.flight.localizer import Localizer, tailored_width_degrees
from voice_trainer.flight.vor import Vor

IBR = Localizer("IBR", 2.0, -3.0, course_degrees=160, threshold_distance_nm=1.5)


def place(distance: float, right_degrees: float = 0.0) -> tuple[float, float]:
    """So far from the antenna on the approach side, so many degrees right of course as one flies inbound."""
    radial = reciprocal(IBR.course_degrees) - right_degrees
    return Vor("IBR", IBR.east_nm, IBR.north_nm).place(radial, distance)


# AIM 1-1-9, from memory: 700 feet over the threshold, 3 to 6 degrees. Computed by 2 atan(350 / distance).
@pytest.mark.parametrize(("distance_feet", "degrees"), [(8000, 5.010), (10000, 4.009), (13000, 3.085)])
def test_the_width_is_tailored(distance_feet: float, degrees: float) -> None:
    assert tailored_width_degrees(distance_feet / FEET_PER_NM) == pytest.approx(degrees, abs=0.001)


def test_a_short_runway_is_not_given_more_than_six_degrees() -> None:
    assert tailored_width_degrees(4000 / FEET_PER_NM) == 6.0
    assert tailored_width_degrees(4000 / FEET_PER_NM, limited=False) == pytest.approx(10.0, abs=0.01)
    assert tailored_width_degrees(20000 / FEET_PER_NM) == 3.0


@given(st.floats(0.2, 5), st.floats(100, 1500))
def test_the_width_and_back(distance: float, feet: float) -> None:
    half = math.radians(tailored_width_degrees(distance, feet, limited=False) / 2)
    assert 2 * math.tan(half) * distance * FEET_PER_NM == pytest.approx(feet)


@pytest.mark.parametrize(
    ("distance", "feet"), [(0.0, 700.0), (1.5, 0.0), (-1.0, 700.0), (float("nan"), 700.0)]
)
def test_no_width(distance: float, feet: float) -> None:
    with pytest.raises(ValueError, match="give more than 0 for both"):
        tailored_width_degrees(distance, feet)


@given(st.floats(0.5, 30), st.floats(-30, 30))
def test_right_of_course_the_needle_stands_left(distance: float, right: float) -> None:
    assert IBR.deviation_degrees(*place(distance, right)) == pytest.approx(-right, abs=1e-6)
    assert IBR.is_on_front_course(*place(distance, right))


def test_full_scale_is_350_feet_from_the_middle_of_the_threshold() -> None:
    east, north = IBR.threshold
    angle = math.radians(IBR.course_degrees + 90)
    aside = 350 / FEET_PER_NM
    deviation = IBR.deviation_degrees(east + aside * math.sin(angle), north + aside * math.cos(angle))
    assert IBR.scale().deflection(deviation * 0.999) == pytest.approx(-0.999, abs=1e-3)
    assert IBR.width_degrees == pytest.approx(-2 * deviation)


def test_beyond_the_antenna() -> None:
    behind = Vor("IBR", 2.0, -3.0).place(160, 2)
    assert not IBR.is_on_front_course(*behind)
    assert IBR.deviation_degrees(*behind) == pytest.approx(0, abs=1e-9)


@given(st.floats(-2, 30), st.floats(-3, 3))
def test_the_distance_to_the_threshold(distance: float, aside: float) -> None:
    east, north = IBR.threshold
    angle = math.radians(IBR.course_degrees)
    east += -distance * math.sin(angle) + aside * math.cos(angle)
    north += -distance * math.cos(angle) - aside * math.sin(angle)
    assert IBR.threshold_distance_from_nm(east, north) == pytest.approx(distance, abs=1e-9)


def test_a_threshold_behind_the_antenna() -> None:
    with pytest.raises(ValueError, match="give more than 0"):
        Localizer("IBR", 0, 0, 160, -1)
