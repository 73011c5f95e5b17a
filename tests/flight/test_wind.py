"""The wind triangle against published worked examples."""

from __future__ import annotations

from dataclasses import astuple

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from voice_trainer.flight.courses import signed_difference
from voice_trainer.flight.wind import (
    CALM,
    Triangle,
    Wind,
    WindError,
    drift_correction,
    track_made_good,
    wind_found,
)


# Printed answers, read off slide rules, hence within a degree and a knot: the first is the Pilot's Handbook's
# (quoted from memory), then a manual flight computer's handbook, a web calculator's text, an exam bank.
@pytest.mark.parametrize(
    ("course", "airspeed", "wind", "heading", "groundspeed"),
    [
        (90, 120, Wind(45, 40), 76, 88),
        (90, 125, Wind(230, 18), 95, 138),
        (360, 90, Wind(270, 10), 354, 89.4),
        (321, 118, Wind(213, 21), 311, 123),
    ],
)
def test_published_triangles(
    course: float, airspeed: float, wind: Wind, heading: float, groundspeed: float
) -> None:
    triangle = drift_correction(course, airspeed, wind)
    assert triangle.heading_degrees == pytest.approx(heading, abs=1.0)
    assert triangle.groundspeed_knots == pytest.approx(groundspeed, abs=1.0)


# The same, computed independently to two decimals.
@pytest.mark.parametrize(
    ("course", "airspeed", "wind", "expected"),
    [
        (90, 120, Wind(45, 40), Triangle(-13.63, 76.37, 88.33)),
        (90, 125, Wind(230, 18), Triangle(5.31, 95.31, 138.25)),
        (360, 90, Wind(270, 10), Triangle(-6.38, 353.62, 89.44)),
        (321, 118, Wind(213, 21), Triangle(-9.74, 311.26, 122.79)),
    ],
)
def test_exact_triangles(course: float, airspeed: float, wind: Wind, expected: Triangle) -> None:
    triangle = drift_correction(course, airspeed, wind)
    assert astuple(triangle) == pytest.approx(astuple(expected), abs=0.006)


# A flight-planning tutorial: heading 045 at 75 knots, wind 135 at 20: about 15 degrees to the left, and 40
# miles north-west of where it should be after two hours.
def test_drift_that_nobody_corrects() -> None:
    track = track_made_good(45, 75, Wind(135, 20))
    assert track.drift_degrees == pytest.approx(-15, abs=0.5)
    assert track.drift_degrees == pytest.approx(-14.93, abs=0.006)
    east, north = Wind(135, 20).drift_knots
    assert (east * 2) ** 2 + (north * 2) ** 2 == pytest.approx(40**2)
    assert east < 0 < north


# A flight-computer manual of the 1940s (NASM): heading 104 at 165, track 094 at 146: the wind is 154 at 34.
def test_the_wind_is_found_from_what_it_did() -> None:
    wind = wind_found(104, 165, 94, 146)
    assert wind.from_degrees == pytest.approx(154, abs=1.0)
    assert wind.knots == pytest.approx(34, abs=1.0)
    assert wind.from_degrees == pytest.approx(154.1, abs=0.06)
    assert wind.knots == pytest.approx(33.1, abs=0.06)


@given(st.floats(0, 360), st.floats(60, 300), st.floats(0, 360), st.floats(0, 50))
def test_heading_and_back(course: float, airspeed: float, blows_from: float, knots: float) -> None:
    wind = Wind(blows_from, knots)
    triangle = drift_correction(course, airspeed, wind)
    track = track_made_good(triangle.heading_degrees, airspeed, wind)
    assert abs(signed_difference(course, track.track_degrees)) < 1e-6
    assert track.groundspeed_knots == pytest.approx(triangle.groundspeed_knots)
    assert track.drift_degrees == pytest.approx(-triangle.correction_degrees, abs=1e-6)
    assume(knots > 1.0)
    found = wind_found(triangle.heading_degrees, airspeed, track.track_degrees, track.groundspeed_knots)
    assert abs(signed_difference(found.from_degrees, blows_from)) < 1e-6
    assert found.knots == pytest.approx(knots)


def test_in_still_air_the_course_is_the_heading() -> None:
    triangle = drift_correction(153, 120, CALM)
    assert (triangle.correction_degrees, triangle.heading_degrees) == (0.0, 153.0)
    assert triangle.groundspeed_knots == 120.0


def test_a_crosswind_faster_than_the_aeroplane() -> None:
    with pytest.raises(WindError, match=r"course 360 at 40 knots, wind 090 at 50: the crosswind of 50 knots"):
        drift_correction(360, 40, Wind(90, 50))


def test_a_headwind_faster_than_the_aeroplane() -> None:
    with pytest.raises(WindError, match=r"the headwind of 50 knots lets it make no way"):
        drift_correction(360, 40, Wind(360, 50))


def test_hanging_in_the_wind_makes_no_track() -> None:
    with pytest.raises(WindError, match="no track"):
        track_made_good(90, 40, Wind(90, 40))


@pytest.mark.parametrize("knots", [-1.0, float("nan"), float("inf")])
def test_no_such_wind(knots: float) -> None:
    with pytest.raises(WindError, match="0 or more"):
        Wind(90, knots)
