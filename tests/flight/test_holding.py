"""Holding against the AIM, the Navy's and the FAA's handbooks, and against flown patterns."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.flight.flying import aeroplane, told
from voice_trainer.flight import holding
from voice_trainer.flight.courses import Side, reciprocal, signed_difference
from voice_trainer.flight.holding import Airfield, Entry, EntrySector
from voice_trainer.flight.wind import CALM, Wind, WindError

WHOLE = st.integers(1, 360)
SIDES: st.SearchStrategy[Side] = st.sampled_from(["left", "right"])


# The sectors for an inbound course of 090, computed from the rule of CNATRA P-821 and P-801.
@pytest.mark.parametrize(
    ("side", "sectors"),
    [
        ("right", {("teardrop", 200, 270), ("parallel", 270, 20), ("direct", 20, 200)}),
        ("left", {("parallel", 160, 270), ("teardrop", 270, 340), ("direct", 340, 160)}),
    ],
)
def test_the_sectors_of_a_hold(side: Side, sectors: set[tuple[Entry, float, float]]) -> None:
    found = holding.entry_sectors(90, side)
    assert set(found) == {EntrySector(*sector) for sector in sectors}


# AIM 5-3-8c: without instructions a standard pattern on the course of arrival. Entering it is always direct.
@given(WHOLE)
def test_a_hold_without_instructions(course: int) -> None:
    inbound, side = holding.uncleared_hold(course)
    assert (inbound, side) == (course, "right")
    assert holding.hold_entry(course, inbound, side).accepted == {"direct"}


# Points within those sectors, computed from the same rule.
@pytest.mark.parametrize(
    ("side", "heading", "entry"),
    [
        ("right", 45, "direct"),
        ("right", 90, "direct"),
        ("right", 180, "direct"),
        ("right", 230, "teardrop"),
        ("right", 265, "teardrop"),
        ("right", 300, "parallel"),
        ("right", 360, "parallel"),
        ("left", 360, "direct"),
        ("left", 300, "teardrop"),
        ("left", 200, "parallel"),
        ("left", 230, "parallel"),
    ],
)
def test_the_entry_for_a_heading(side: Side, heading: float, entry: Entry) -> None:
    assert holding.hold_entry(heading, 90, side).entry == entry


# AIM 5-3-8: plus or minus 5 degrees. Inbound 090, right turns, boundaries 020, 200, 270.
@pytest.mark.parametrize(
    ("boundary", "both"),
    [(20, {"parallel", "direct"}), (200, {"direct", "teardrop"}), (270, {"teardrop", "parallel"})],
)
@pytest.mark.parametrize("off", [-5, -4, 0, 4, 5])
def test_on_a_boundary_both_neighbours_are_accepted(boundary: float, both: set[Entry], off: float) -> None:
    assert holding.entries_accepted(boundary + off, 90, "right") == both
    mirrored = reciprocal(90) - signed_difference(reciprocal(90), boundary + off)
    assert holding.entries_accepted(mirrored, 90, "left") == both


@pytest.mark.parametrize("heading", [14, 26, 194, 206, 264, 276])
def test_beyond_the_tolerance_only_one_is_accepted(heading: float) -> None:
    accepted = holding.entries_accepted(heading, 90, "right")
    assert accepted == {holding.hold_entry(heading, 90, "right").entry}


@given(st.floats(0, 360), WHOLE, SIDES)
def test_the_sectors_cover_the_circle_and_agree_with_the_rule_by_the_nose(
    heading: float, inbound: int, side: Side
) -> None:
    sectors = holding.entry_sectors(inbound, side)
    spans = [(sector.to_degrees - sector.from_degrees) % 360.0 for sector in sectors]
    assert sum(spans) == pytest.approx(360.0)
    assert all(
        one.to_degrees == two.from_degrees
        for one, two in zip(sectors, sectors[1:] + sectors[:1], strict=True)
    )
    assume(all(abs(signed_difference(sector.from_degrees, heading)) > 1e-6 for sector in sectors))
    inside = [
        sector.entry
        for sector, span in zip(sectors, spans, strict=True)
        if (heading - sector.from_degrees) % 360.0 < span
    ]
    assert inside == [holding.hold_entry(heading, inbound, side).entry]


@given(st.integers(-179, 180), WHOLE)
def test_left_turns_are_the_mirror_of_right_turns(off: int, inbound: int) -> None:
    outbound = reciprocal(inbound)
    right = holding.hold_entry(outbound - off, inbound, "right")
    left = holding.hold_entry(outbound + off, inbound, "left")
    assert right.entry == left.entry
    assert right.accepted == left.accepted
    assert right.leg_seconds == left.leg_seconds
    assert right.turn_back != left.turn_back
    assert signed_difference(outbound, right.heading_degrees) == -signed_difference(
        outbound, left.heading_degrees
    )


# AIM 5-3-8: parallel one minute on the non-holding side, then more than 180 towards the hold; teardrop 30 degrees,
# one minute, then the pattern's turn. Inbound 090, so right turns hold south of it; 240 is 30 off 270.
@pytest.mark.parametrize(
    ("side", "heading", "entry", "leg", "turn", "seconds", "turn_back"),
    [
        ("right", 90, "direct", 270, "right", None, "right"),
        ("left", 90, "direct", 270, "left", None, "left"),
        ("right", 300, "parallel", 270, "left", 60, "left"),
        ("left", 200, "parallel", 270, "right", 60, "right"),
        ("right", 230, "teardrop", 240, "right", 60, "right"),
        ("left", 310, "teardrop", 300, "left", 60, "left"),
    ],
)
def test_how_an_entry_is_flown(
    side: Side, heading: float, entry: Entry, leg: float, turn: Side, seconds: float | None, turn_back: Side
) -> None:
    found = holding.hold_entry(heading, 90, side)
    assert (found.entry, found.heading_degrees, found.turn) == (entry, leg, turn)
    assert (found.leg_seconds, found.turn_back) == (seconds, turn_back)


def test_the_other_accepted_entry_may_be_chosen_and_no_third() -> None:
    assert holding.hold_entry(203, 90, "right", chosen="direct").heading_degrees == 270
    assert holding.hold_entry(203, 90, "right").entry == "teardrop"
    with pytest.raises(ValueError, match="direct or teardrop"):
        holding.hold_entry(203, 90, "right", chosen="parallel")
    with pytest.raises(ValueError, match="0 to 35"):
        holding.entries_accepted(203, 90, "right", 36)


# AIM 5-3-8: 200 to 6,000 ft, 230 from 6,001 to 14,000, 265 from 14,001.
@pytest.mark.parametrize(
    ("altitude", "knots"),
    [(2000, 200), (6000, 200), (6001, 230), (14000, 230), (14001, 265), (20000, 265)],
)
def test_the_speed_limit_by_altitude(altitude: float, knots: float) -> None:
    assert holding.fastest_holding_knots(altitude) == knots


# AIM 5-3-8: 310 at USAF fields and 230 at Navy ones 'unless otherwise depicted'; the 210 icon; 310 in a charted climb.
@pytest.mark.parametrize(
    ("airfield", "charted", "climbing", "knots"),
    [
        ("civil", 210, False, 210),
        ("USAF", None, False, 310),
        ("Navy", None, False, 230),
        ("Navy", 210, False, 210),
        ("civil", None, True, 310),
        ("civil", 210, True, 210),
    ],
)
def test_the_speed_limit_where_it_is_another(
    airfield: Airfield, charted: float | None, climbing: bool, knots: float
) -> None:
    limit = holding.fastest_holding_knots(9000, airfield=airfield, charted_knots=charted, climbing=climbing)
    assert limit == knots


@pytest.mark.parametrize(("altitude", "charted"), [(math.nan, None), (5000, 0.0), (5000, math.inf)])
def test_what_is_no_limit(altitude: float, charted: float | None) -> None:
    with pytest.raises(ValueError, match=r"is (a number of feet|more than 0 knots)"):
        holding.fastest_holding_knots(altitude, charted_knots=charted)


# AIM 5-3-8: a minute at or below 14,000 feet, a minute and a half above; speed reduction 3 minutes before.
@pytest.mark.parametrize(("altitude", "seconds"), [(3000, 60), (14000, 60), (14001, 90)])
def test_the_time_of_the_inbound_leg(altitude: float, seconds: float) -> None:
    assert holding.inbound_leg_seconds(altitude) == seconds
    assert holding.SPEED_REDUCTION_SECONDS == 3 * 60


# AIM 5-3-8: the least of 3 degrees a second, 30 degrees of bank, 25 with a flight director. 18.24: exact at 120 knots.
@pytest.mark.parametrize(
    ("knots", "director", "bank"), [(120, False, 18.24), (250, False, 30), (250, True, 25)]
)
def test_the_bank_in_the_hold(knots: float, director: bool, bank: float) -> None:
    assert holding.holding_bank_degrees(knots, flight_director=director) == pytest.approx(bank, abs=0.005)


# AIM 5-3-8 (also CNATRA P-340): three times; 8 left inbound is 24 right outbound. CNATRA P-871, GPS: twice. P-1244:
# 'two to three times'.
@pytest.mark.parametrize(("factor", "outbound"), [(3.0, 24.0), (2.0, 16.0), (2.5, 20.0)])
def test_the_drift_correction_outbound(factor: float, outbound: float) -> None:
    assert holding.outbound_correction_degrees(-8.0, factor) == outbound
    assert holding.outbound_heading_by_rule(90, -8.0, factor) == 270 + outbound


# CNATRA P-871: 5 of crab inbound, 15 outbound: 090 becomes 075.
def test_the_outbound_heading_by_rule() -> None:
    assert holding.outbound_heading_by_rule(270, 5.0) == 75


@pytest.mark.parametrize("factor", [1.9, 3.1, math.nan])
def test_no_such_factor(factor: float) -> None:
    with pytest.raises(ValueError, match="2 to 3 times"):
        holding.outbound_correction_degrees(5.0, factor)


# CNATRA P-871: inbound 50 s, next outbound 70 s; never less than 30 s. The others follow by subtraction.
@pytest.mark.parametrize(
    ("outbound", "inbound", "wanted", "following"),
    [(60, 50, 60, 70), (60, 75, 60, 45), (60, 100, 60, 30), (90, 80, 90, 100), (70, 60, 60, 70)],
)
def test_the_next_outbound_time(outbound: float, inbound: float, wanted: float, following: float) -> None:
    assert holding.next_outbound_seconds(outbound, inbound, wanted) == following


# AIM 5-3-8: over or abeam, whichever is later, and the end of the turn where abeam is not known. CNATRA P-765 p. 7-7
# and P-1215: wings level or abeam, whichever is last.
def test_when_the_outbound_clock_is_started() -> None:
    assert holding.outbound_timing_begins(55, 62, "abeam") == 55
    assert holding.outbound_timing_begins(55, 62, "abeam or wings level") == 62
    assert holding.outbound_timing_begins(66, 62, "abeam") == 66
    assert holding.outbound_timing_begins(66, 62, "abeam or wings level") == 66
    assert holding.outbound_timing_begins(None, 62, "abeam") == 62
    assert holding.outbound_timing_begins(None, 62, "abeam or wings level") == 62


# AIM 5-3-8, figures of DME holds: towards the navaid, fix 10 and leg 5, ends at 15; away, fix 28 and leg 8, at 20.
def test_where_the_outbound_leg_of_a_dme_hold_ends() -> None:
    assert holding.outbound_end_dme(10, 5, towards_station=True) == 15
    assert holding.outbound_end_dme(28, 8, towards_station=False) == 20
    with pytest.raises(ValueError, match="does not fit"):
        holding.outbound_end_dme(5, 8, towards_station=False)
    with pytest.raises(ValueError, match="more than 0"):
        holding.outbound_end_dme(5, 0, towards_station=True)


# FAA Instrument Flying Handbook ch. 12 (a reprint): circuits of 4.5 minutes, leave 12 minutes after passage: two
# circuits (9 minutes), then 2 minutes of turns and 1 of straight flight.
def test_leaving_at_a_time() -> None:
    plan = holding.leaving_plan(12 * 60, 4.5 * 60)
    assert plan == holding.LeavingPlan(2, 180, 60)


@given(st.integers(0, 4000), st.integers(180, 400))
def test_every_plan_ends_when_it_is_time(seconds: int, circuit: int) -> None:
    assume(seconds == 0 or seconds >= 120)
    plan = holding.leaving_plan(seconds, circuit)
    assert plan.whole_circuits * circuit + plan.last_circuit_seconds == seconds
    assert plan.last_circuit_seconds == 0 or plan.last_circuit_seconds >= 120
    assert plan.last_straight_seconds == max(0, plan.last_circuit_seconds - 120)


@pytest.mark.parametrize(
    ("seconds", "circuit", "reason"),
    [(60, 240, "less than the turns"), (600, 120, "no longer than its turns"), (-1, 240, "or more")],
)
def test_no_plan(seconds: float, circuit: float, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        holding.leaving_plan(seconds, circuit)


# Plain arithmetic: two minutes of turns and two legs of one minute.
@given(WHOLE, SIDES)
def test_in_still_air_a_circuit_takes_four_minutes(inbound: int, side: Side) -> None:
    hold = holding.wind_hold(inbound, side, 120, CALM)
    assert hold.outbound_seconds == pytest.approx(60)
    assert hold.timed_outbound_seconds == pytest.approx(60)
    assert hold.circuit_seconds == pytest.approx(240)
    assert abs(hold.outbound_correction_degrees) < 1e-9


def walked(
    hold: holding.WindHold, side: Side, airspeed: float, wind: Wind
) -> tuple[list[tuple[float, ...]], float]:
    """East and north at each twentieth of a second around the circuit, and the time wings level outbound."""
    step = 0.05
    sign = 1.0 if side == "right" else -1.0
    heading, east, north, seconds = hold.inbound_heading_degrees, 0.0, 0.0, 0.0
    turn = (sign * (hold.outbound_heading_degrees - heading)) % 360.0
    places: list[tuple[float, ...]] = []
    for degrees, straight in (
        (turn, hold.outbound_seconds),
        (360.0 - turn, hold.inbound_seconds),
    ):
        for duration, rate in ((degrees / 3.0, 3.0 * sign), (straight, 0.0)):
            whole = max(1, round(duration / step))
            for _ in range(whole):
                part = duration / whole
                angle = math.radians(heading + rate * part / 2.0)
                drift_east, drift_north = wind.drift_knots
                east += (airspeed * math.sin(angle) + drift_east) * part / 3600.0
                north += (airspeed * math.cos(angle) + drift_north) * part / 3600.0
                heading += rate * part
                seconds += part
                places.append((seconds, east, north))
    return places, turn / 3.0


slower_winds = st.builds(Wind, st.floats(0, 360), st.floats(0, 30))


@given(WHOLE, SIDES, st.sampled_from([120.0, 150.0]), slower_winds)
def test_a_hold_comes_back_to_the_fix_and_its_inbound_leg_takes_a_minute(
    inbound: int, side: Side, airspeed: float, wind: Wind
) -> None:
    hold = holding.wind_hold(inbound, side, airspeed, wind)
    places, level_at = walked(hold, side, airspeed, wind)
    _, east, north = places[-1]
    assert math.hypot(east, north) < 0.001
    # Rolled out inbound, it is on the course, a minute of groundspeed away from the fix.
    course = math.radians(inbound)
    _, east, north = min(places, key=lambda place: abs(place[0] - (hold.circuit_seconds - 60.0)))
    assert east * math.cos(course) - north * math.sin(course) == pytest.approx(0.0, abs=0.005)
    along = -(east * math.sin(course) + north * math.cos(course))
    assert along == pytest.approx(hold.inbound_groundspeed_knots / 60.0, abs=0.005)
    # The clock starts abeam or with the wings level, whichever is last.
    turning_back = level_at + hold.outbound_seconds
    abeam = min(
        (
            seconds
            for seconds, east, north in places
            if seconds > 20.0 and east * math.sin(course) + north * math.cos(course) <= 0.0
        ),
    )
    begins = holding.outbound_timing_begins(abeam, level_at, "abeam or wings level")
    assert hold.timed_outbound_seconds == pytest.approx(turning_back - begins, abs=0.1)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("wind", [CALM, Wind(30, 20), Wind(120, 25), Wind(220, 15), Wind(300, 30)])
def test_the_aeroplane_that_flies_it_comes_back_to_the_fix(side: Side, wind: Wind) -> None:
    hold = holding.wind_hold(90, side, 120, wind)
    plane = aeroplane(wind=wind, heading_degrees=hold.inbound_heading_degrees)
    for heading, seconds in (
        (hold.outbound_heading_degrees, hold.outbound_seconds),
        (hold.inbound_heading_degrees, hold.inbound_seconds),
    ):
        plane = told(plane, heading_degrees=heading, turn=side).step()
        while plane.state.bank_degrees != 0.0:
            plane = plane.step()
        plane, _ = plane.advance(plane.state.seconds + seconds)
    # It rolls in and out, which the plan does not allow for: the wind has a few seconds more.
    assert math.hypot(plane.state.east_nm, plane.state.north_nm) < 0.12


# AIM 5-3-8 says three times, and does not say in which winds. At 120 knots in crosswinds up to 20 it is near the exact
# correction.
@pytest.mark.parametrize("knots", [5, 10, 15, 20])
@pytest.mark.parametrize("side", ["left", "right"])
def test_three_times_is_near_the_exact_correction_in_a_crosswind(side: Side, knots: float) -> None:
    hold = holding.wind_hold(360, side, 120, Wind(90, knots))
    rule = holding.outbound_correction_degrees(hold.inbound_correction_degrees)
    assert hold.outbound_correction_degrees == pytest.approx(rule, abs=2.5)


def test_a_headwind_of_a_third_of_the_airspeed_leaves_no_outbound_leg() -> None:
    assert holding.wind_hold(90, "right", 120, Wind(90, 39)).outbound_seconds < 5
    with pytest.raises(WindError, match="inbound 090 at 120 knots, wind 090 at 41: no outbound leg"):
        holding.wind_hold(90, "right", 120, Wind(90, 41))
    with pytest.raises(WindError, match="no outbound leg"):
        holding.wind_hold(90, "right", 120, Wind(270, 130))
    with pytest.raises(WindError, match="crosswind"):
        holding.wind_hold(90, "right", 40, Wind(360, 50))
    with pytest.raises(ValueError, match="above 0"):
        holding.wind_hold(90, "right", 120, CALM, inbound_seconds=0)
