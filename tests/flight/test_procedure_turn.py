"""Course reversals against CNATRA P-553 and the AIM, and against flown ones."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight import procedure_turn
from voice_trainer.flight.courses import Side
from voice_trainer.flight.procedure_turn import Category, TimedFrom


# CNATRA P-553 (a minute from the end of the 45) and its note 2 (ICAO, USAF: from its start, 1:15 for C, D, E).
# At standard rate the 45 takes 15 s.
@pytest.mark.parametrize(
    ("timed_from", "categories", "seconds", "straight"),
    [
        ("end of the 45", "ABCDE", 60, 60),
        ("start of the 45", "AB", 60, 45),
        ("start of the 45", "CDE", 75, 60),
    ],
)
def test_both_timings(timed_from: TimedFrom, categories: str, seconds: float, straight: float) -> None:
    every: tuple[Category, ...] = ("A", "B", "C", "D", "E")
    for category in every:
        if category in categories:
            turn = procedure_turn.procedure_turn(160, "left", timed_from, category)
            assert (turn.leg_seconds, turn.straight_seconds) == (seconds, straight)


# CNATRA P-553 and P-340 s.625; the numbers follow by addition.
def test_its_headings_and_turns() -> None:
    turn = procedure_turn.procedure_turn(160, "left")
    assert (turn.side, turn.out_degrees) == ("left", 115)
    assert (turn.turn_back, turn.back_degrees, turn.inbound_degrees) == ("right", 295, 340)


# Derived. Radial 173 is clockwise of radial 150: outbound 150, inbound 353, to the right, 203 degrees.
@pytest.mark.parametrize(
    ("outbound", "inbound", "side", "degrees"),
    [(150, 353, "right", 203), (150, 300, "left", 210), (345, 195, "right", 210)],
)
def test_the_turn_of_a_teardrop(outbound: float, inbound: float, side: Side, degrees: float) -> None:
    found = procedure_turn.teardrop(outbound, inbound)
    assert (found.turn, found.turn_degrees) == (side, degrees)
    sign = 1 if side == "right" else -1
    assert (outbound + sign * degrees) % 360 == inbound % 360


@given(st.floats(5, 60), st.floats(0.3, 2))
def test_a_teardrop_of_the_exact_length_ends_on_the_inbound_course(angle: float, radius: float) -> None:
    leg = procedure_turn.teardrop_leg_nm(angle, radius)
    # Outbound along the y axis, the turn to the right: how far its centre is from the line of the inbound course.
    line = math.radians(angle)
    assert abs(radius * math.cos(line) - leg * math.sin(line)) == pytest.approx(radius)


@given(
    st.sampled_from(["end of the 45", "start of the 45"]),
    st.floats(1, 6),
    st.floats(80, 200),
    st.sampled_from("AC"),
)
def test_the_farthest_point_is_the_one_that_is_flown(
    timed_from: TimedFrom, begins: float, knots: float, category: Category
) -> None:
    turn = procedure_turn.procedure_turn(360, "left", timed_from, category)
    east, north, heading, farthest = 0.0, begins, 0.0, begins
    for seconds, rate in ((15.0, -3.0), (turn.straight_seconds, 0.0), (60.0, 3.0)):
        for _ in range(int(seconds * 10)):
            angle = math.radians(heading + rate * 0.05)
            east += knots / 36000.0 * math.sin(angle)
            north += knots / 36000.0 * math.cos(angle)
            heading += rate * 0.1
            farthest = max(farthest, math.hypot(east, north))
    assert procedure_turn.farthest_nm(turn, begins, knots) == pytest.approx(farthest, abs=0.002)


# AIM 5-4-9a3: 200 knots indicated; normally 10 NM, 5 at the least, up to 15.
def test_the_limits() -> None:
    assert procedure_turn.within_limits(10, 200)
    assert not procedure_turn.within_limits(10.1, 200)
    assert not procedure_turn.within_limits(9, 201)
    assert procedure_turn.within_limits(14, 150, limit_nm=15)
    assert not procedure_turn.within_limits(6, 90, limit_nm=5)
    for limit in (4.9, 15.1):
        with pytest.raises(ValueError, match="within 5 to 15 NM"):
            procedure_turn.within_limits(6, 90, limit_nm=limit)


def test_what_is_no_course_reversal() -> None:
    with pytest.raises(ValueError, match="more than 0 and less than 90"):
        procedure_turn.teardrop(150, 330)
    with pytest.raises(ValueError, match="between 0 and 90"):
        procedure_turn.teardrop_leg_nm(0, 1)
    with pytest.raises(ValueError, match="rate above 0"):
        procedure_turn.procedure_turn(160, "left", rate_degrees_per_second=0)
    with pytest.raises(ValueError, match="takes more than 60 s"):
        procedure_turn.procedure_turn(160, "left", "start of the 45", rate_degrees_per_second=0.5)
