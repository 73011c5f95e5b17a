"""Holding patterns: the way in, the speeds and times, the wind, and when to leave.

Directions are degrees magnetic within (0, 360]; corrections are degrees, to the right positive. The pattern is
told by its inbound course, the course flown to the fix, and the side of its turns; right is standard.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from voice_trainer.flight.courses import Side, normalise_degrees, reciprocal, signed_difference, text
from voice_trainer.flight.turns import STANDARD_RATE_DEGREES_PER_SECOND, bank_for_rate
from voice_trainer.flight.wind import Wind, WindError, drift_correction

Entry = Literal["direct", "parallel", "teardrop"]
Airfield = Literal["civil", "USAF", "Navy"]
OutboundTimingRule = Literal["abeam", "abeam or wings level"]

ENTRY_TOLERANCE_DEGREES = 5.0
TEARDROP_OFFSET_DEGREES = 30.0
ENTRY_SECONDS = 60.0
"""How long a parallel or a teardrop entry flies away from the fix. Source: AIM 5-3-8."""

TURNS_SECONDS = 360.0 / STANDARD_RATE_DEGREES_PER_SECOND
SPEED_REDUCTION_SECONDS = 180.0
"""Slowing down to the holding speed begins within three minutes of the fix. Source: AIM 5-3-8."""

SHORTEST_OUTBOUND_SECONDS = 30.0
CLIMB_IN_HOLD_KNOTS = 310.0


@dataclass(frozen=True, slots=True)
class EntrySector:
    """The headings over the fix that ask for one entry, clockwise from the first to the last."""

    entry: Entry
    from_degrees: float
    to_degrees: float


@dataclass(frozen=True, slots=True)
class HoldEntry:
    """The way into a hold.

    `accepted` holds the other entry too where the heading is within 5 degrees of its sector.
    `outbound_from_nose_degrees` is where the outbound course lies, right of the nose positive. After the fix the
    aeroplane turns to `heading_degrees` on the side `turn`. A direct entry is then in the pattern, and
    `leg_seconds` is None; the others fly that heading so long, and turn back on the side `turn_back`.
    """

    entry: Entry
    accepted: frozenset[Entry]
    outbound_from_nose_degrees: float
    heading_degrees: float
    turn: Side
    leg_seconds: float | None
    turn_back: Side


@dataclass(frozen=True, slots=True)
class LeavingPlan:
    """How many whole circuits fit before it is time to leave the fix, and how the last one is shortened.

    `last_straight_seconds` is for both legs together. In still air each has half of it.
    """

    whole_circuits: int
    last_circuit_seconds: float
    last_straight_seconds: float


@dataclass(frozen=True, slots=True)
class WindHold:
    """A circuit in a steady wind that returns to the inbound course where the inbound leg takes its time.

    `outbound_seconds` is from wings level to the start of the turn inbound; `timed_outbound_seconds` is what a
    clock shows that is started abeam the fix or with the wings level, whichever is last.
    """

    inbound_heading_degrees: float
    inbound_correction_degrees: float
    inbound_groundspeed_knots: float
    inbound_seconds: float
    outbound_heading_degrees: float
    outbound_correction_degrees: float
    outbound_seconds: float
    timed_outbound_seconds: float
    circuit_seconds: float


def uncleared_hold(arrival_course_degrees: float) -> tuple[float, Side]:
    """Inbound course and turns where no holding instructions came before the fix: the course of arrival, standard.

    Source: AIM 5-3-8c.
    """
    return normalise_degrees(arrival_course_degrees), "right"


def entry_sectors(inbound_degrees: float, side: Side) -> tuple[EntrySector, EntrySector, EntrySector]:
    """The three sectors around the fix, clockwise, by the line at 70 degrees to the inbound course.

    Source: AIM 5-3-8; the left-hand pattern is the mirror image.
    """
    outbound = reciprocal(inbound_degrees)
    if side == "right":
        first, second, third = outbound - 70.0, outbound, outbound + 110.0
        names: tuple[Entry, Entry, Entry] = ("teardrop", "parallel", "direct")
    else:
        first, second, third = outbound - 110.0, outbound, outbound + 70.0
        names = ("parallel", "teardrop", "direct")
    bounds = [normalise_degrees(bound) for bound in (first, second, third, first)]
    one, two, three = (
        EntrySector(name, bounds[number], bounds[number + 1]) for number, name in enumerate(names)
    )
    return one, two, three


def entry_by_nose(outbound_from_nose_degrees: float, side: Side) -> Entry:
    """The entry by where the outbound course lies from the nose, right positive.

    Right turns: up to 70 degrees right of the nose a teardrop, up to 110 left of it parallel, elsewhere direct;
    left turns mirrored. Source: CNATRA P-801 and P-821. Dead ahead, where two sectors touch, is a teardrop.
    """
    nose = signed_difference(0.0, outbound_from_nose_degrees)
    to_holding_side = nose if side == "right" else -nose
    if 0.0 <= to_holding_side <= 70.0:
        return "teardrop"
    return "parallel" if -110.0 <= to_holding_side < 0.0 else "direct"


def entries_accepted(
    heading_degrees: float,
    inbound_degrees: float,
    side: Side,
    tolerance_degrees: float = ENTRY_TOLERANCE_DEGREES,
) -> frozenset[Entry]:
    """Every entry whose sector is within the tolerance of the heading.

    Source: AIM 5-3-8, 5 degrees either side. Raises ValueError for a tolerance that is not
    from 0 to 35 degrees: beyond that a sector would have no middle.
    """
    if not 0.0 <= tolerance_degrees <= 35.0:
        raise ValueError(f"the tolerance of an entry is 0 to 35 degrees, not {tolerance_degrees:g}")
    nose = signed_difference(heading_degrees, reciprocal(inbound_degrees))
    accepted = {entry_by_nose(nose, side)}
    for boundary in (0.0, 70.0, -110.0) if side == "right" else (0.0, -70.0, 110.0):
        if abs(signed_difference(boundary, nose)) <= tolerance_degrees:
            accepted |= {entry_by_nose(boundary + step, side) for step in (-1.0, 1.0)}
    return frozenset(accepted)


def hold_entry(
    heading_degrees: float,
    inbound_degrees: float,
    side: Side,
    *,
    leg_seconds: float = ENTRY_SECONDS,
    chosen: Entry | None = None,
) -> HoldEntry:
    """The entry for a heading over the fix, with its heading, time and turns. No wind is allowed for.

    `chosen` flies another accepted one. Parallel: outbound on the non-holding side, then back by more than 180
    degrees towards the holding side. Teardrop: 30 degrees into the holding side, then the pattern's turn.
    Direct: the pattern's turn. Source: AIM 5-3-8. Raises ValueError for a `chosen` that is not accepted.
    """
    outbound = reciprocal(inbound_degrees)
    nose = signed_difference(heading_degrees, outbound)
    accepted = entries_accepted(heading_degrees, inbound_degrees, side)
    entry = chosen or entry_by_nose(nose, side)
    if entry not in accepted:
        raise ValueError(f"a {entry} entry is not for this heading: {' or '.join(sorted(accepted))}")
    other: Side = "left" if side == "right" else "right"
    if entry == "direct":
        return HoldEntry(entry, accepted, nose, outbound, side, None, side)
    if entry == "parallel":
        shorter: Side = "right" if nose >= 0.0 else "left"
        return HoldEntry(entry, accepted, nose, outbound, shorter, leg_seconds, other)
    into = -TEARDROP_OFFSET_DEGREES if side == "right" else TEARDROP_OFFSET_DEGREES
    heading = normalise_degrees(outbound + into)
    shortest: Side = "right" if signed_difference(heading_degrees, heading) >= 0.0 else "left"
    return HoldEntry(entry, accepted, nose, heading, shortest, leg_seconds, side)


def fastest_holding_knots(
    altitude_feet: float,
    *,
    airfield: Airfield = "civil",
    charted_knots: float | None = None,
    climbing: bool = False,
) -> float:
    """The maximum holding airspeed, knots indicated.

    Up to 6,000 feet 200, up to 14,000 230, above 265; at a USAF airfield 310, at a Navy one 230; 310 where a climb
    in the hold is charted. What is charted for the pattern itself (the 210 icon, say) stands in place of all
    these. Source: AIM 5-3-8. Raises ValueError for an altitude or a charted speed that is none.
    """
    if not math.isfinite(altitude_feet):
        raise ValueError(f"an altitude is a number of feet, not {altitude_feet}")
    if charted_knots is not None:
        if not (math.isfinite(charted_knots) and charted_knots > 0.0):
            raise ValueError(f"a charted speed is more than 0 knots, not {charted_knots:g}")
        return charted_knots
    if climbing:
        return CLIMB_IN_HOLD_KNOTS
    if airfield != "civil":
        return 310.0 if airfield == "USAF" else 230.0
    if altitude_feet <= 6000.0:
        return 200.0
    return 230.0 if altitude_feet <= 14000.0 else 265.0


def inbound_leg_seconds(altitude_feet: float) -> float:
    """One minute up to 14,000 feet, a minute and a half above. Source: AIM 5-3-8. The first outbound leg too."""
    return 60.0 if altitude_feet <= 14000.0 else 90.0


def holding_bank_degrees(airspeed_knots: float, *, flight_director: bool = False) -> float:
    """The bank of the turns: standard rate, and at most 30 degrees, or 25 with a flight director. AIM 5-3-8."""
    return min(bank_for_rate(airspeed_knots), 25.0 if flight_director else 30.0)


def outbound_correction_degrees(inbound_correction_degrees: float, factor: float = 3.0) -> float:
    """The drift correction of the outbound leg: the other way, and `factor` times as much.

    Three times: AIM 5-3-8, CNATRA P-340. Twice: CNATRA P-871 (GPS). 'Two to three times': P-1244. Raises ValueError
    for a factor outside 2 to 3.
    """
    if not 2.0 <= factor <= 3.0:
        raise ValueError(f"the outbound correction is 2 to 3 times the inbound one, not {factor:g} times")
    return -factor * inbound_correction_degrees


def outbound_heading_by_rule(
    inbound_degrees: float, inbound_correction_degrees: float, factor: float = 3.0
) -> float:
    """The outbound heading with `outbound_correction_degrees` applied to the outbound course."""
    correction = outbound_correction_degrees(inbound_correction_degrees, factor)
    return normalise_degrees(reciprocal(inbound_degrees) + correction)


def next_outbound_seconds(
    outbound_seconds: float,
    inbound_seconds: float,
    wanted_inbound_seconds: float = 60.0,
    shortest_seconds: float = SHORTEST_OUTBOUND_SECONDS,
) -> float:
    """The next outbound time: what the inbound leg lacked is added, what it had too much is taken away.

    Never less than 30 seconds, which is the rule for the first circuit that is corrected. Source: CNATRA P-871.
    """
    return max(shortest_seconds, outbound_seconds + wanted_inbound_seconds - inbound_seconds)


def outbound_timing_begins(
    abeam_seconds: float | None, wings_level_seconds: float, rule: OutboundTimingRule
) -> float:
    """When the outbound clock is started, on whatever scale the two moments are given.

    'abeam': over or abeam the fix, whichever is later; where abeam cannot be determined (None), when the turn is
    completed (AIM 5-3-8). 'abeam or wings level': whichever is last (CNATRA P-765 p. 7-7, P-1215).
    """
    if abeam_seconds is None:
        return wings_level_seconds
    return abeam_seconds if rule == "abeam" else max(abeam_seconds, wings_level_seconds)


def outbound_end_dme(fix_dme_nm: float, leg_nm: float, *, towards_station: bool) -> float:
    """The DME at which the outbound leg of a DME hold ends.

    Inbound towards the station the pattern is beyond the fix, otherwise between the two. Source: AIM 5-3-8. Raises
    ValueError where the leg would reach the station.
    """
    if leg_nm <= 0.0 or fix_dme_nm <= 0.0:
        raise ValueError(f"a fix at {fix_dme_nm:g} DME with a leg of {leg_nm:g} NM: both must be more than 0")
    end = fix_dme_nm + leg_nm if towards_station else fix_dme_nm - leg_nm
    if end <= 0.0:
        raise ValueError(f"a leg of {leg_nm:g} NM does not fit between the station and {fix_dme_nm:g} DME")
    return end


def leaving_plan(
    seconds_to_leave: float, circuit_seconds: float, turns_seconds: float = TURNS_SECONDS
) -> LeavingPlan:
    """How to be over the fix when it is time to leave: whole circuits, then one that is shortened.

    Source: FAA Instrument Flying Handbook ch. 12. Where what is left is too short for the turns alone, the last
    circuit takes over a whole one and is lengthened instead (ours: the handbook does not say). Raises ValueError
    where not even the turns fit, and where a circuit is no longer than its turns.
    """
    if not turns_seconds < circuit_seconds:
        raise ValueError(
            f"a circuit of {circuit_seconds:g} s is no longer than its turns, {turns_seconds:g} s"
        )
    if not (math.isfinite(seconds_to_leave) and seconds_to_leave >= 0.0):
        raise ValueError(f"the time to leave is 0 seconds from now or more, not {seconds_to_leave:g}")
    whole, rest = divmod(seconds_to_leave, circuit_seconds)
    if rest == 0.0:
        return LeavingPlan(int(whole), 0.0, 0.0)
    if rest < turns_seconds:
        if whole == 0.0:
            raise ValueError(
                f"{seconds_to_leave:g} s is less than the turns of one circuit take, {turns_seconds:g} s"
            )
        whole, rest = whole - 1.0, rest + circuit_seconds
    return LeavingPlan(int(whole), rest, rest - turns_seconds)


def wind_hold(
    inbound_degrees: float,
    side: Side,
    airspeed_knots: float,
    wind: Wind,
    inbound_seconds: float = 60.0,
    rate_degrees_per_second: float = STANDARD_RATE_DEGREES_PER_SECOND,
) -> WindHold:
    """The outbound heading and time with which the inbound leg takes `inbound_seconds`, exactly.

    The two turns together are one circle through the air, so they carry the aeroplane only as far as the wind
    blows meanwhile. What is left is one triangle: outbound through the air, plus the wind for the legs and the
    turns, is the inbound leg backwards. Rolling in and out takes no time here. Derived. Raises WindError where the
    inbound course cannot be kept, or where the wind carries the turns so far that no outbound leg is left (a
    third of the airspeed from dead ahead inbound); ValueError for a rate or a time that is not above 0.
    """
    inbound = drift_correction(inbound_degrees, airspeed_knots, wind)
    if rate_degrees_per_second <= 0.0 or inbound_seconds <= 0.0:
        raise ValueError("a hold needs a rate of turn and an inbound time above 0")
    # Miles a second; an east-north plane with the fix at the origin.
    wind_east, wind_north = (knots / 3600.0 for knots in wind.drift_knots)
    speed = airspeed_knots / 3600.0
    turns_seconds = 360.0 / rate_degrees_per_second
    course = math.radians(inbound_degrees)
    leg = inbound.groundspeed_knots / 3600.0 * inbound_seconds
    east = -leg * math.sin(course) - wind_east * turns_seconds
    north = -leg * math.cos(course) - wind_north * turns_seconds
    # |(east, north) - wind x t| = speed x t has one positive root while the wind is the slower one.
    a = speed**2 - wind_east**2 - wind_north**2
    half_b = east * wind_east + north * wind_north
    root = half_b**2 + a * (east**2 + north**2)
    seconds = (-half_b + math.sqrt(root)) / a if a > 0.0 else math.inf
    heading = (
        math.degrees(math.atan2(east - wind_east * seconds, north - wind_north * seconds)) if a > 0 else 0.0
    )
    correction = signed_difference(reciprocal(inbound_degrees), heading)
    if a <= 0.0 or abs(correction) >= 90.0:
        raise WindError(
            f"inbound {text(inbound_degrees)} at {airspeed_knots:g} knots, wind {text(wind.from_degrees)} at "
            f"{wind.knots:g}: no outbound leg gives an inbound leg of {inbound_seconds:g} s"
        )
    abeam = _abeam_after_level_seconds(
        inbound.heading_degrees, heading, inbound_degrees, side, speed, rate_degrees_per_second, wind
    )
    return WindHold(
        inbound_heading_degrees=inbound.heading_degrees,
        inbound_correction_degrees=inbound.correction_degrees,
        inbound_groundspeed_knots=inbound.groundspeed_knots,
        inbound_seconds=inbound_seconds,
        outbound_heading_degrees=normalise_degrees(heading),
        outbound_correction_degrees=correction,
        outbound_seconds=seconds,
        timed_outbound_seconds=seconds - max(0.0, abeam),
        circuit_seconds=inbound_seconds + turns_seconds + seconds,
    )


def _abeam_after_level_seconds(
    from_degrees: float,
    to_degrees: float,
    inbound_degrees: float,
    side: Side,
    speed_nm_per_second: float,
    rate_degrees_per_second: float,
    wind: Wind,
) -> float:
    """How long after the turn outbound the fix is abeam; below 0 where it was so during the turn."""
    radius = speed_nm_per_second / math.radians(rate_degrees_per_second)
    start, end, course = (math.radians(angle) for angle in (from_degrees, to_degrees, inbound_degrees))
    turned = (to_degrees - from_degrees) % 360.0 if side == "right" else (from_degrees - to_degrees) % 360.0
    sign = 1.0 if side == "right" else -1.0
    seconds = turned / rate_degrees_per_second
    wind_east, wind_north = (knots / 3600.0 for knots in wind.drift_knots)
    east = sign * radius * (math.cos(start) - math.cos(end)) + wind_east * seconds
    north = sign * radius * (math.sin(end) - math.sin(start)) + wind_north * seconds
    # Both along the outbound course.
    reached = -(east * math.sin(course) + north * math.cos(course))
    ground_east = speed_nm_per_second * math.sin(end) + wind_east
    ground_north = speed_nm_per_second * math.cos(end) + wind_north
    closing = -(ground_east * math.sin(course) + ground_north * math.cos(course))
    return -reached / closing
