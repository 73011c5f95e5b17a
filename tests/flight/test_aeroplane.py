"""The moving aeroplane: what it reaches, how, and that it does so the same way every time."""

from __future__ import annotations

import math
from dataclasses import astuple, replace
from itertools import pairwise

import pytest
from flying import TURBOPROP, aeroplane, told, winds
from hypothesis import given, settings
from hypothesis import strategies as st

from voice_trainer.flight.aeroplane import STEP_SECONDS, Aeroplane, AeroplaneState, Turn
from voice_trainer.flight.courses import signed_difference
from voice_trainer.flight.profile import PROFILES, Profile, profile_named
from voice_trainer.flight.turns import bank_for_rate, radius_nm
from voice_trainer.flight.wind import Wind, drift_correction, track_made_good

QUICK = settings(max_examples=30, deadline=None)


def turned(samples: list[AeroplaneState], start: float) -> float:
    """Degrees of heading gone by, right positive."""
    before = [start, *(state.heading_degrees for state in samples)]
    return sum(signed_difference(a, b) for a, b in pairwise(before))


def test_left_alone_it_flies_straight_and_level() -> None:
    plane, samples = aeroplane().advance(60.0)
    assert len(samples) == 600
    assert plane.state == samples[-1]
    assert plane.state.seconds == 60.0
    assert (plane.state.heading_degrees, plane.state.altitude_feet) == (333.0, 3000.0)
    assert math.hypot(plane.state.east_nm, plane.state.north_nm) == pytest.approx(2.0)
    assert plane.state.east_nm == pytest.approx(2.0 * math.sin(math.radians(333)))


def test_one_step_is_a_tenth_of_a_second() -> None:
    plane = aeroplane()
    assert STEP_SECONDS == 0.1
    assert plane.step() == plane.advance(0.1)[0]


@pytest.mark.parametrize(("turn", "degrees"), [("left", -45.0), ("right", 315.0), ("shortest", -45.0)])
def test_the_side_that_was_told(turn: Turn, degrees: float) -> None:
    plane, samples = told(aeroplane(), heading_degrees=288.0, turn=turn).advance(150.0)
    assert turned(samples, 333.0) == pytest.approx(degrees)
    assert (plane.state.heading_degrees, plane.state.bank_degrees) == (288.0, 0.0)


# CNATRA P-1215: a circle at standard rate takes 120 s; rolling in and out adds the seconds of one roll.
def test_a_half_circle_takes_a_minute_and_closes() -> None:
    _, samples = told(aeroplane(), heading_degrees=153.0, turn="left").advance(120.0)
    steepest = max(abs(state.bank_degrees) for state in samples)
    assert steepest == pytest.approx(bank_for_rate(120.0))
    seconds = next(state.seconds for state in samples if state.heading_degrees == 153.0)
    assert seconds == pytest.approx(60.0 + steepest / TURBOPROP.roll_rate_degrees_per_second, abs=1.5)
    middle = [state for state in samples if abs(state.bank_degrees) == steepest]
    rate = signed_difference(middle[0].heading_degrees, middle[100].heading_degrees) / 10.0
    assert rate == pytest.approx(-3.0)


def test_a_standard_rate_circle_is_as_wide_as_the_formula_says() -> None:
    bank = bank_for_rate(120.0)
    banked = replace(aeroplane(bank_degrees=bank).state, heading_degrees=360.0)
    start = replace(aeroplane(), state=banked)
    plane, samples = told(start, heading_degrees=359.0, turn="right").advance(60.0)
    assert samples[-1].east_nm == pytest.approx(2 * radius_nm(120.0, bank), rel=1e-4)
    assert plane.state.north_nm == pytest.approx(0.0, abs=1e-4)


# AIM 5-3-8: 3 degrees a second or 30 degrees of bank, whichever is less.
def test_a_fast_aeroplane_turns_at_its_maximum_bank() -> None:
    fast = told(aeroplane(airspeed_knots=250.0), heading_degrees=153.0)
    _, samples = fast.advance(30.0)
    assert bank_for_rate(250.0) > 30.0
    assert max(abs(state.bank_degrees) for state in samples) == 30.0


@QUICK
@given(
    st.floats(0.01, 360),
    st.sampled_from(["left", "right", "shortest"]),
    st.floats(70, 250),
    st.sampled_from(sorted(PROFILES)),
    st.floats(2, 30),
)
def test_every_turn_ends_wings_level_on_the_heading_without_overshoot(
    heading: float, turn: Turn, airspeed: float, profile: str, roll: float
) -> None:
    kind = replace(PROFILES[profile], roll_rate_degrees_per_second=roll)
    start = aeroplane(kind, airspeed_knots=airspeed)
    plane, samples = told(start, heading_degrees=heading, turn=turn).advance(300.0)
    assert plane.state.heading_degrees == heading
    assert plane.state.bank_degrees == 0.0
    way = signed_difference(333.0, heading)
    if turn == "left":
        way = -((333.0 - heading) % 360.0)
    elif turn == "right":
        way = (heading - 333.0) % 360.0
    gone, furthest, last = 0.0, 0.0, 333.0
    for state in samples:
        gone += signed_difference(last, state.heading_degrees)
        last = state.heading_degrees
        furthest = max(furthest, math.copysign(1.0, way) * gone)
    assert gone == pytest.approx(way, abs=1e-6)
    assert furthest <= abs(way) + 0.1


def test_the_wings_roll_no_faster_than_the_profile_says() -> None:
    plane, samples = told(aeroplane(), heading_degrees=288.0).advance(8.0)
    _, more = told(plane, heading_degrees=90.0, turn="right").advance(60.0)
    banks = [0.0, *(state.bank_degrees for state in [*samples, *more])]
    most = max(abs(b - a) for a, b in pairwise(banks))
    assert most == pytest.approx(TURBOPROP.roll_rate_degrees_per_second * STEP_SECONDS)


def test_without_a_heading_it_levels_its_wings_where_it_is() -> None:
    plane, _ = told(aeroplane(), heading_degrees=153.0, turn="left").advance(20.0)
    assert plane.state.bank_degrees < -15.0
    plane, _ = told(plane, heading_degrees=None).advance(60.0)
    held, _ = plane.advance(90.0)
    assert held.state.bank_degrees == 0.0
    assert held.state.heading_degrees == plane.state.heading_degrees


# CNATRA P-765 s.401: the lead for levelling off is 10 % of the vertical speed.
def test_it_begins_to_level_off_a_tenth_of_its_vertical_speed_early() -> None:
    _, samples = told(aeroplane(), altitude_feet=2000.0).advance(120.0)
    rates = [state.vertical_speed_feet_per_minute for state in samples]
    assert min(rates) == -1000.0
    last_full = max(i for i, rate in enumerate(rates) if rate == -1000.0)
    assert samples[last_full].altitude_feet - 2000.0 == pytest.approx(100.0, abs=5.0)


@QUICK
@given(st.floats(0, 4000), st.floats(0, 4000), st.one_of(st.none(), st.floats(300, 4000)))
def test_every_altitude_is_reached_and_kept(start: float, wanted: float, rate: float | None) -> None:
    plane = aeroplane(altitude_feet=start)
    plane, samples = told(plane, altitude_feet=wanted, vertical_speed_feet_per_minute=rate).advance(900.0)
    assert (plane.state.altitude_feet, plane.state.vertical_speed_feet_per_minute) == (wanted, 0.0)
    low, high = min(start, wanted), max(start, wanted)
    assert all(low - 5.0 <= state.altitude_feet <= high + 5.0 for state in samples)
    allowed = rate or 1000.0
    assert all(abs(state.vertical_speed_feet_per_minute) <= allowed for state in samples)


def test_speed_changes_at_the_acceleration_of_the_profile() -> None:
    plane, samples = told(aeroplane(), airspeed_knots=90.0).advance(60.0)
    assert samples[99].airspeed_knots == pytest.approx(110.0)
    assert plane.state.airspeed_knots == 90.0


@QUICK
@given(winds)
def test_the_wind_carries_it_along(wind: Wind) -> None:
    plane, _ = aeroplane(wind=wind).advance(60.0)
    track = track_made_good(333.0, 120.0, wind)
    assert plane.state.heading_degrees == 333.0
    gone = math.hypot(plane.state.east_nm, plane.state.north_nm)
    assert gone == pytest.approx(track.groundspeed_knots / 60.0)
    direction = math.degrees(math.atan2(plane.state.east_nm, plane.state.north_nm))
    assert abs(signed_difference(direction, track.track_degrees)) < 1e-6


def test_the_corrected_heading_keeps_the_course() -> None:
    wind = Wind(270.0, 25.0)
    triangle = drift_correction(153.0, 120.0, wind)
    plane, _ = aeroplane(wind=wind, heading_degrees=triangle.heading_degrees).advance(120.0)
    direction = math.degrees(math.atan2(plane.state.east_nm, plane.state.north_nm))
    assert direction == pytest.approx(153.0)


@QUICK
@given(winds, st.lists(st.floats(0, 60), max_size=12))
def test_it_does_not_matter_how_often_it_is_asked(wind: Wind, stops: list[float]) -> None:
    start = told(aeroplane(wind=wind), heading_degrees=100.0, altitude_feet=2500.0, airspeed_knots=140.0)
    whole, samples = start.advance(60.0)
    plane: Aeroplane = start
    pieces: list[AeroplaneState] = []
    for stop in sorted(stops):
        plane, piece = plane.advance(stop)
        assert stop - 0.1 - 1e-5 < plane.state.seconds <= stop + 1e-5
        pieces += piece
    plane, piece = plane.advance(60.0)
    assert plane == whole
    assert pieces + piece == samples


def test_time_does_not_run_backwards() -> None:
    plane, _ = aeroplane().advance(10.0)
    assert plane.advance(5.0) == (plane, [])
    assert plane.advance(10.05) == (plane, [])


@pytest.mark.parametrize("until", [math.inf, math.nan])
def test_nobody_flies_for_ever(until: float) -> None:
    with pytest.raises(ValueError, match="cannot fly until"):
        aeroplane().advance(until)


def test_an_hour_keeps_its_tenths() -> None:
    plane, samples = aeroplane().advance(3600.0)
    assert plane.state.seconds == 3600.0
    assert len(samples) == 36_000
    assert all(math.isfinite(value) for value in astuple(plane.state) if isinstance(value, float))


def test_known_profiles() -> None:
    assert profile_named("turboprop").name == "turboprop"
    with pytest.raises(
        ValueError, match="no aeroplane profile is called 'glider'; known: jet trainer, piston, turboprop"
    ):
        profile_named("glider")


@pytest.mark.parametrize("numbers", [(0, 500, 500, 1, 25), (5, -1, 500, 1, 25), (5, 500, 500, 1, 90)])
def test_an_impossible_profile(numbers: tuple[float, float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="profile 'kite'"):
        Profile("kite", *numbers)


def test_told_too_late_it_comes_back_and_makes_no_circle() -> None:
    fast = told(aeroplane(airspeed_knots=200.0), heading_degrees=153.0, turn="left")
    plane, _ = fast.advance(30.0)
    assert plane.state.bank_degrees < -28.0
    heading = plane.state.heading_degrees
    # Rolling out takes nine degrees at this speed; seven are left.
    plane, samples = told(plane, heading_degrees=heading - 7.0, turn="left").advance(60.0)
    assert plane.state.heading_degrees == heading - 7.0
    assert turned(samples, heading) == pytest.approx(-7.0)
    assert max(abs(signed_difference(heading, state.heading_degrees)) for state in samples) < 11.0
