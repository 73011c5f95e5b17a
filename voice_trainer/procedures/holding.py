"""A hold as it is cleared, today: the clearance and its readback, the entry, one corrected circuit, and leaving."""

from __future__ import annotations

import math

from voice_trainer.drills.model import AeroplaneStart, Call, Drill, Window
from voice_trainer.flight.courses import normalise_degrees, text
from voice_trainer.flight.holding import fastest_holding_knots
from voice_trainer.flight.timing import duration_text
from voice_trainer.procedures.calls import callsign_read_back, speed, spoken, track, turn
from voice_trainer.procedures.hold import HoldProcedure
from voice_trainer.procedures.hold_entry import (
    Pattern,
    decide_entry,
    fly_entry,
    outbound_heading,
    outbound_seconds,
    start_outbound_clock,
)
from voice_trainer.procedures.house_flow import HouseFlow
from voice_trainer.procedures.lead_ins import with_lead_ins_of_a_hold
from voice_trainer.procedures.places import fix_words, passage_cue
from voice_trainer.procedures.setting import Day, rounded
from voice_trainer.procedures.sheet import Sheet, seconds_spoken
from voice_trainer.procedures.today import Today

SLOW_SECONDS = 180.0
"""Slowing down begins within three minutes of the fix: AIM 5-3-8."""

TIME_TOLERANCE_SECONDS = 10.0
"""An outbound time that was worked out in the head may be so far from the exact one (ours)."""

DECIDED_WITHIN_NM = 4.0
LIMIT_SECONDS = 2400.0


def hold_drill_of(hold: HoldProcedure, today: Today, flow: HouseFlow) -> Drill:
    """The drill. Raises WindError for a wind in which the inbound course can't be kept."""
    day = Day(today, flow)
    arrival = normalise_degrees(hold.start.radial_degrees + 180.0)
    fastest = fastest_holding_knots(hold.altitude_feet)
    knots = min(day.procedure_knots, fastest)
    pattern = Pattern(
        fix=hold.navaid(hold.fix),
        inbound_degrees=hold.inbound_degrees,
        turns=hold.turns,
        altitude_feet=hold.altitude_feet,
        heading_degrees=float(day.corrected(arrival, knots).heading),
        airspeed_knots=knots,
        from_feet=hold.altitude_feet,  # the readback of the clearance begins the descent
        callsign=hold.callsign,
        control=hold.control,
        is_cleared=True,
    )
    sheet = Sheet()
    _clear(hold, sheet)
    slowed_within_nm = _slow_down(hold, day, sheet, pattern, fastest)
    # One after the other, whatever the wind.
    decided_within_nm = min(DECIDED_WITHIN_NM, slowed_within_nm - 1.0)
    decide_entry(sheet, pattern, f"distance {decided_within_nm:.1f} {hold.fix}")
    event = f"passage {hold.fix}"
    sheet.segment("hold", event, lowest_altitude_feet=hold.altitude_feet, fastest_knots=fastest)
    established = fly_entry(day, sheet, pattern, event)
    _go_around(day, sheet, pattern, established)
    _leave(hold, sheet, pattern)
    return Drill(
        drill=hold.hold,
        spoken_name=hold.spoken_name,
        difficulty="second",
        title=hold.title,
        kind="procedure",
        trains="a hold: the clearance, the entry, timing and drift of the legs, and leaving",
        region=hold.region,
        minutes=12,
        sources=(*hold.sources, f"order of the checks: {flow.title} ({flow.source})", "holding: AIM 5-3-8"),
        callsign=hold.callsign,
        pronounce=hold.pronounce,
        synonyms={"turn": ("turning", "coming"), "descend": ("descending",)},
        navaids=hold.navaids,
        aeroplane=AeroplaneStart(
            profile=today.profile.name,
            tuned=hold.fix,
            direct_to=hold.fix,
            distance_nm=hold.start.distance_nm,
            radial_degrees=hold.start.radial_degrees,
            heading_degrees=float(day.corrected(arrival, day.speed_before_the_fix_knots).heading),
            course_degrees=arrival,
            altitude_feet=hold.start.altitude_feet,
            airspeed_knots=day.speed_before_the_fix_knots,
            wind_from_degrees=normalise_degrees(today.wind.from_degrees),
            wind_knots=today.wind.knots,
        ),
        segments=tuple(sheet.segments),
        limit_seconds=LIMIT_SECONDS,
        steps=with_lead_ins_of_a_hold(hold, day, sheet.steps),
    )


def _clear(hold: HoldProcedure, sheet: Sheet) -> None:
    """The clearance, in the order of AIM 5-3-8i, and its readback."""
    fix = hold.navaid(hold.fix)
    radial = text(hold.outbound_degrees)
    turns = ", left turns" if hold.turns == "left" else ""
    patient = Window(within_seconds=15.0)
    items = [
        Call(
            call="direction",
            say=f"[hold] {hold.direction}",
            ask="say the direction of the hold",
            window=patient,
            because=f"The pattern lies to the {hold.direction} of {fix.name}.",
        ),
        Call(
            call="radial",
            say=f"[on] [the] {{radial: {radial}}} radial",
            ask="say the radial",
            window=patient,
            because=f"The inbound course {text(hold.inbound_degrees)} is flown on the {radial} radial.",
        ),
    ]
    if hold.turns == "left":
        items.append(
            Call(
                call="turns",
                say="left turns",
                ask="say the turns",
                window=patient,
                because="Left turns are not standard.",
            )
        )
    items += [
        Call(
            call="altitude",
            say=f"[maintain] {{altitude: {hold.altitude_feet}}}",
            ask="say the altitude",
            does="altitude",
            window=patient,
            because="Altitudes are read back (AIM 4-4-7b).",
        ),
        Call(
            call="further clearance",
            say=f"expect further clearance [at] {{time: {hold.expect_further_clearance}}}",
            ask="say the time of your further clearance",
            window=patient,
            because="The time to expect further clearance is what is flown by when the radio fails.",
        ),
        callsign_read_back(hold.callsign, patient),
    ]
    sheet.step(
        "clearance",
        "start",
        f"{{callsign: {hold.callsign}}}, {hold.control}, cleared to {fix.name}, hold {hold.direction} on the "
        f"{{radial: {radial}}} radial{turns}, maintain {{altitude: {hold.altitude_feet}}}, expect further clearance "
        f"{{time: {hold.expect_further_clearance}}}, time now {{time: {hold.time_now}}}.",
        items,
        speaker="controller",
        flow_name="readback",
        in_any_order=True,
        asks=True,
    )
    lowest = min(hold.start.altitude_feet, hold.altitude_feet)
    sheet.segment("to the fix", "start", lowest_altitude_feet=lowest)


def _slow_down(hold: HoldProcedure, day: Day, sheet: Sheet, pattern: Pattern, fastest: float) -> float:
    """Slow down in time; returns how far from the fix that is, in miles."""
    if pattern.airspeed_knots >= day.speed_before_the_fix_knots:
        return math.inf
    arrival = normalise_degrees(hold.start.radial_degrees + 180.0)
    groundspeed = day.corrected(arrival, day.speed_before_the_fix_knots).groundspeed_knots
    within = math.floor(groundspeed * SLOW_SECONDS / 3600.0)
    knots = rounded(pattern.airspeed_knots)
    sheet.step(
        "three minutes out",
        f"distance {within:.1f} {hold.fix}",
        f"{{distance: {within}}} miles to {pattern.fix.name}.",
        [
            speed(
                "speed",
                knots,
                f"Slowing down begins within three minutes of the fix (AIM 5-3-8); {fastest:.0f} are the most at "
                f"{hold.altitude_feet:,}, and {knots} is the speed of this aeroplane.",
                Window(within_seconds=20.0, closes=f"passage {hold.fix}"),
            )
        ],
        speaker="instructor",
        flow_name="slow for the hold",
    )
    return float(within)


def _go_around(day: Day, sheet: Sheet, pattern: Pattern, established: str) -> None:
    """Once around, with the drift and the time that the wind asks for."""
    inbound = text(pattern.inbound_degrees)
    seconds = outbound_seconds(day, pattern)
    sheet.step(
        "inbound",
        established,
        "Needle is coming in.",
        [spoken("established [inbound]", "established", f"The inbound course is {inbound}.")],
    )
    sheet.step(
        "turn outbound",
        f"passage {pattern.fix.ident}",
        passage_cue(pattern.fix),
        [
            turn("turn", pattern.turns, outbound_heading(day, pattern), within_seconds=6.0),
            Call(
                call="outbound time",
                say=f"outbound [time] {{duration: {duration_text(seconds)}}}",
                within={"duration": TIME_TOLERANCE_SECONDS},
                because=_why_so_long(day, pattern, seconds),
            ),
        ],
    )
    start_outbound_clock(day, sheet, pattern, "outbound", by_entry=False)
    sheet.step(
        "turn inbound",
        f"clock {duration_text(seconds)}",
        seconds_spoken(seconds),
        [
            turn(
                "turn", pattern.turns, inbound, f"The turn inbound is a {pattern.turns} turn, to {inbound}."
            ),
            track("intercept", pattern.inbound_degrees, "inbound", f"The inbound course is {inbound}."),
        ],
    )


def _why_so_long(day: Day, pattern: Pattern, seconds: int) -> str:
    wind = day.today.wind
    leg = duration_text(pattern.leg_seconds)
    if wind.knots == 0.0:
        return f"In still air the outbound leg takes as long as the inbound one, {leg}."
    return (
        f"The inbound leg shall take {leg} (AIM 5-3-8). With the wind, {text(wind.from_degrees)} at {wind.knots:g}, "
        f"two turns and {duration_text(seconds)} outbound lead back to where {leg} inbound begin."
    )


def _leave(hold: HoldProcedure, sheet: Sheet, pattern: Pattern) -> None:
    inbound = text(pattern.inbound_degrees)
    sheet.step(
        "inbound again",
        f"established {inbound}",
        f"{{callsign: {hold.callsign}}}, leave {pattern.fix.name} on course, report leaving.",
        [
            spoken(
                f"(wilco | roger) {{callsign: {hold.callsign}}}",
                "wilco",
                "The instruction is acknowledged with the callsign.",
            )
        ],
        speaker="controller",
    )
    sheet.step(
        "leaving",
        f"passage {hold.fix}",
        passage_cue(pattern.fix),
        [
            spoken(
                f"[{hold.control.lower()}] {{callsign: {hold.callsign}}} leaving {fix_words(pattern.fix)}",
                "talk",
                "Leaving an assigned holding fix is reported (AIM 5-3-3).",
            )
        ],
        flow_name="report",
    )
