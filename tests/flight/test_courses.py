"""Directions and the headings that follow from them, against published rules and worked examples."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight import courses
from voice_trainer.flight.courses import Side

degrees = st.floats(-1e6, 1e6)
WHOLE = range(1, 361)


def test_north_is_360_and_never_000() -> None:
    assert courses.normalise_degrees(0.0) == 360.0
    assert courses.normalise_degrees(-360.0) == 360.0
    assert courses.normalise_degrees(720.0) == 360.0
    assert courses.text(0.0) == "360"
    assert courses.text(359.5) == "360"
    assert courses.text(0.4) == "360"


@pytest.mark.parametrize(
    ("value", "said"), [(95.0, "095"), (5.4, "005"), (359.4, "359"), (0.5, "001"), (-5, "355")]
)
def test_a_direction_is_three_digits(value: float, said: str) -> None:
    assert courses.text(value) == said


@given(degrees)
def test_every_direction_is_above_0_and_up_to_360(value: float) -> None:
    direction = courses.normalise_degrees(value)
    assert 0.0 < direction <= 360.0
    assert 1 <= int(courses.text(value)) <= 360
    assert len(courses.text(value)) == 3
    assert math.isclose(math.cos(math.radians(direction)), math.cos(math.radians(value)), abs_tol=1e-8)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_direction_is_finite(value: float) -> None:
    with pytest.raises(ValueError, match="number of degrees"):
        courses.normalise_degrees(value)


@given(degrees, degrees)
def test_the_signed_difference_leads_from_one_to_the_other(start: float, end: float) -> None:
    turn = courses.signed_difference(start, end)
    assert -180.0 < turn <= 180.0
    there, wanted = math.radians(start + turn), math.radians(end)
    assert math.isclose(math.cos(there), math.cos(wanted), abs_tol=1e-6)
    assert math.isclose(math.sin(there), math.sin(wanted), abs_tol=1e-6)


def test_right_is_positive_and_an_about_turn_is_to_the_right() -> None:
    assert courses.signed_difference(350, 10) == 20
    assert courses.signed_difference(10, 350) == -20
    assert courses.signed_difference(90, 270) == 180
    assert courses.signed_difference(270, 90) == 180


# Plain arithmetic: add or subtract 180.
@pytest.mark.parametrize(("course", "opposite"), [(87, 267), (180, 360), (360, 180), (5, 185), (270, 90)])
def test_reciprocals(course: float, opposite: float) -> None:
    assert courses.reciprocal(course) == opposite


@pytest.mark.parametrize("course", WHOLE)
def test_the_reciprocal_of_the_reciprocal(course: float) -> None:
    assert courses.reciprocal(courses.reciprocal(course)) == course


# The rule: CNATRA P-553 and P-340 s.625 (45 degrees to the manoeuvring side, then 180 the opposite way).
# The numbers follow from it by addition.
@pytest.mark.parametrize(
    ("outbound", "side", "headings", "inbound"),
    [
        (160, "left", (115, 295), 340),
        (160, "right", (205, 25), 340),
        (336, "left", (291, 111), 156),
        (336, "right", (21, 201), 156),
        (258, "right", (303, 123), 78),
        (30, "left", (345, 165), 210),
    ],
)
def test_the_45_180_procedure_turn(
    outbound: float, side: Side, headings: tuple[float, float], inbound: float
) -> None:
    assert courses.procedure_turn_45_180(outbound, side) == headings
    assert courses.reciprocal(outbound) == inbound


@pytest.mark.parametrize("outbound", WHOLE)
def test_a_procedure_turn_comes_back_45_degrees_across_the_inbound_course(outbound: float) -> None:
    inbound = courses.reciprocal(outbound)
    _, back_from_left = courses.procedure_turn_45_180(outbound, "left")
    _, back_from_right = courses.procedure_turn_45_180(outbound, "right")
    assert courses.signed_difference(back_from_left, inbound) == 45.0
    assert courses.signed_difference(back_from_right, inbound) == -45.0


# CNATRA P-871 s.406 step 7 (the number of degrees off, at most 45 beyond the course); the cap also in
# AFMAN 11-217V1 (2005) 7.4.5.3. The numbers follow from the rule.
@pytest.mark.parametrize(
    ("on_radial", "wanted", "heading"),
    [(255, 270, 285), (200, 270, 315), (285, 270, 255), (340, 270, 225), (270, 270, 270), (350, 5, 20)],
)
def test_outbound_the_cut_is_the_degrees_off_and_at_most_45(
    on_radial: float, wanted: float, heading: float
) -> None:
    assert courses.outbound_intercept_heading(on_radial, wanted) == heading


@given(st.sampled_from(WHOLE), st.sampled_from(WHOLE))
def test_an_outbound_intercept_flies_towards_the_radial(on_radial: int, wanted: int) -> None:
    heading = courses.outbound_intercept_heading(on_radial, wanted)
    off = courses.signed_difference(on_radial, wanted)
    cut = courses.signed_difference(wanted, heading)
    assert abs(cut) == min(abs(off), 45.0)
    assert cut * off >= 0.0


# CNATRA P-765 Fig. 7-5 prints the first; the second follows from 'head halfway' of CNATRA P-871 s.408; the
# cap of 90 is P-765's.
@pytest.mark.parametrize(
    ("bearing", "course", "heading"), [(255, 270, 240), (265, 260, 270), (330, 270, 360), (200, 270, 180)]
)
def test_inbound_the_angle_is_doubled_and_at_most_90(bearing: float, course: float, heading: float) -> None:
    assert courses.inbound_intercept_heading(bearing, course) == heading


# CNATRA P-765 s.602: not more than 45 degrees beyond the heading that parallels the new course. Numbers by addition;
# the last one crabs 10 right on the new course.
@pytest.mark.parametrize(
    ("heading", "course", "correction", "side", "parallel", "limit"),
    [
        (360, 90, 0, "right", 90, 135),
        (180, 90, 0, "left", 90, 45),
        (340, 20, 0, "right", 20, 65),
        (20, 340, 0, "left", 340, 295),
        (360, 90, 10, "right", 100, 145),
    ],
)
def test_the_limit_of_a_turn_at_a_fix(
    heading: float, course: float, correction: float, side: Side, parallel: float, limit: float
) -> None:
    assert courses.fix_turn(heading, course, correction) == courses.FixTurn(side, parallel, limit)
