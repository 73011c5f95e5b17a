"""Gradients and vertical rates, against what is printed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.descent import (
    COPTER_CLIMB_FEET_PER_NM,
    PUBLISHED_RATES_FPM,
    RULE_OF_THUMB_FEET_PER_NM,
    STANDARD_CLIMB_FEET_PER_NM,
    gradient_between,
    gradient_degrees,
    gradient_feet_per_nm,
    gradient_of_rate,
    is_about_rate,
    rate_of_descent_fpm,
    vertical_rate_fpm,
)

speeds = st.floats(30, 300)


# FAA Order 8260.3 as quoted: 3.00 degrees are 318 feet a mile, 400 are about 3.77 degrees. The decimals, and
# 2.5 degrees, are computed by the tangent.
@pytest.mark.parametrize(("degrees", "feet"), [(3.0, 318.44), (3.77, 400.38), (2.5, 265.29)])
def test_gradients(degrees: float, feet: float) -> None:
    assert gradient_feet_per_nm(degrees) == pytest.approx(feet, abs=0.006)


def test_gradients_as_quoted() -> None:
    assert round(gradient_feet_per_nm(3.0)) == RULE_OF_THUMB_FEET_PER_NM
    assert gradient_degrees(400) == pytest.approx(3.77, abs=0.005)


@given(st.floats(0, 60))
def test_a_gradient_and_back(degrees: float) -> None:
    assert gradient_degrees(gradient_feet_per_nm(degrees)) == pytest.approx(degrees, abs=1e-9)


# Computed: groundspeed x 6076.1 x tan 3 degrees / 60.
@pytest.mark.parametrize(
    ("knots", "fpm"),
    [(60, 318.4), (90, 477.7), (105, 557.3), (120, 636.9), (140, 743.0), (150, 796.1), (180, 955.3)],
)
def test_exact_rates_of_descent(knots: float, fpm: float) -> None:
    assert rate_of_descent_fpm(knots) == pytest.approx(fpm, abs=0.06)


# A table of groundspeed x 318 / 60, reprinted. Its 743 at 140 knots is the exact one: by 318 it is 742.
@pytest.mark.parametrize(("knots", "fpm"), [(120, 636), (130, 689), (140, 743), (150, 795)])
def test_318_feet_a_mile(knots: float, fpm: float) -> None:
    assert rate_of_descent_fpm(knots, rule="318 feet a mile") == pytest.approx(fpm, abs=1.0)


# CNATRA P-804: 90 and 120 knots; 105 interpolated.
@pytest.mark.parametrize(("knots", "fpm"), [(90, 450), (105, 525), (120, 600)])
def test_five_times_groundspeed(knots: float, fpm: float) -> None:
    assert rate_of_descent_fpm(knots, rule="five times groundspeed") == fpm


# The FAA chart supplement's table as an instrument textbook reprints it. The exact rates come within its own
# steps of 5 feet; all rules come within a tenth.
@pytest.mark.parametrize(
    ("degrees", "knots", "fpm"),
    [
        *(
            (3.0, knots, fpm)
            for knots, fpm in zip(
                range(60, 181, 15), [320, 395, 480, 555, 635, 715, 795, 875, 955], strict=True
            )
        ),
        (2.5, 90, 395),
        (2.5, 120, 530),
        (3.5, 90, 555),
        (3.5, 120, 740),
    ],
)
def test_the_published_table(degrees: float, knots: int, fpm: int) -> None:
    assert PUBLISHED_RATES_FPM[degrees][knots] == fpm
    assert rate_of_descent_fpm(knots, degrees, "published table") == fpm
    assert rate_of_descent_fpm(knots, degrees) == pytest.approx(fpm, abs=5.0)
    if degrees == 3.0:
        assert is_about_rate(rate_of_descent_fpm(knots, rule="318 feet a mile"), fpm)
        assert is_about_rate(rate_of_descent_fpm(knots, rule="five times groundspeed"), fpm)


def test_between_two_columns_of_the_published_table() -> None:
    assert rate_of_descent_fpm(100, rule="published table") == pytest.approx(530)


# The tolerance is 10 % either way.
def test_about_the_rate() -> None:
    assert is_about_rate(440, 400)
    assert is_about_rate(360, 400)
    assert not is_about_rate(441, 400)
    assert not is_about_rate(359, 400)


# AIM 5-4-21b: at least 200 feet a mile, helicopters 400. 100 knots and 333 feet a minute: read in a
# textbook, and computed; 90 and 120: computed.
@pytest.mark.parametrize(("knots", "fpm"), [(100, 333), (90, 300), (120, 400)])
def test_the_climb_of_a_missed_approach(knots: float, fpm: float) -> None:
    assert vertical_rate_fpm(STANDARD_CLIMB_FEET_PER_NM, knots) == pytest.approx(fpm, abs=0.5)
    assert vertical_rate_fpm(COPTER_CLIMB_FEET_PER_NM, knots) == pytest.approx(2 * fpm, abs=1.0)


@given(st.floats(0, 1000), speeds)
def test_a_rate_and_back(gradient: float, knots: float) -> None:
    assert gradient_of_rate(vertical_rate_fpm(gradient, knots), knots) == pytest.approx(gradient)


@given(st.floats(0.5, 10), speeds)
def test_exact_is_the_gradient_flown(degrees: float, knots: float) -> None:
    gradient = gradient_of_rate(rate_of_descent_fpm(knots, degrees), knots)
    assert gradient_degrees(gradient) == pytest.approx(degrees)


def test_between_two_altitudes() -> None:
    assert gradient_between(3000, 1400, 5) == 320
    assert gradient_between(1400, 3000, 5) == -320
    with pytest.raises(ValueError, match="more than 0 miles"):
        gradient_between(3000, 1400, 0)


def test_rules_for_another_angle() -> None:
    with pytest.raises(ValueError, match=r"'318 feet a mile' is a rule for 3 degrees, not for 2.5"):
        rate_of_descent_fpm(90, 2.5, "318 feet a mile")
    with pytest.raises(ValueError, match="'five times groundspeed' is a rule for 3 degrees"):
        rate_of_descent_fpm(90, 3.5, "five times groundspeed")
    with pytest.raises(ValueError, match=r"the published table is for 2.5, 3, 3.5 degrees, not 4"):
        rate_of_descent_fpm(90, 4.0, "published table")
    with pytest.raises(ValueError, match=r"3.5 degrees is for 90 to 120 knots, not 60"):
        rate_of_descent_fpm(60, 3.5, "published table")


@pytest.mark.parametrize("knots", [0.0, -90.0, float("nan"), float("inf")])
def test_a_rate_needs_groundspeed(knots: float) -> None:
    with pytest.raises(ValueError, match="positive groundspeed"):
        rate_of_descent_fpm(knots)
    with pytest.raises(ValueError, match="positive groundspeed"):
        gradient_of_rate(500, knots)


def test_no_such_slope() -> None:
    with pytest.raises(ValueError, match="0 up to 90 degrees"):
        gradient_feet_per_nm(90)
    with pytest.raises(ValueError, match="0 feet a mile or more"):
        gradient_degrees(-1)
