"""What is said before a step of a flown procedure that is practised by itself, in place of the flight up to it.

Each gives the moment, and of the chart's numbers those that the calls need; what is worked out of them is left to the
student.
"""

from __future__ import annotations

from collections.abc import Sequence

from voice_trainer.drills.model import Step
from voice_trainer.flight.courses import text
from voice_trainer.procedures.approach import (
    Arc,
    Hold,
    HoldInLieu,
    NoProcedureTurn,
    ProcedureTurn,
    StraightIn,
    Teardrop,
)
from voice_trainer.procedures.calls import altimeter_setting
from voice_trainer.procedures.hold import HoldProcedure
from voice_trainer.procedures.places import missed_approach_seconds
from voice_trainer.procedures.setting import Day, Setting, rounded


def with_lead_ins(setting: Setting, steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps of an approach, those that have calls with their lead-in."""
    return tuple(
        step if step.flow is None else step.model_copy(update={"lead_in": _lead_in(setting, step.step)})
        for step in steps
    )


def with_lead_ins_of_a_hold(hold: HoldProcedure, day: Day, steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps of a hold, those after the clearance with their lead-in."""
    way = f"{_callsign(hold.callsign)} {_arriving(hold, day)} {_wind(day)}"
    there = _pattern(hold.navaid(hold.fix).name, hold.inbound_degrees, hold.turns)
    return tuple(
        step
        if step.flow is None or step.when == "start"
        else step.model_copy(update={"lead_in": f"{way} {there}"})
        for step in steps
    )


def _lead_in(setting: Setting, step: str) -> str:
    approach = setting.approach
    final, missed = approach.final, approach.missed_approach
    course = f"{{course: {text(final.course_degrees)}}}"
    callsign, wind = _callsign(approach.callsign), _wind(setting)
    field = approach.field.name
    at_minimums = f"On final to {field}, minimums {{minimums: {final.minimums_feet}}}."
    if step.startswith("missed hold") and missed.hold is not None:
        return f"After the missed approach. {wind} {_missed_hold(setting, missed.hold)}"
    if step.startswith("hold "):
        fix = setting.initial_fix.name
        return f"{_inbound_to(setting)} {wind} {_in_lieu(setting, fix)}"
    match step:
        case "set-up and brief":
            return f"{callsign} {_chart(setting)}"
        case "close to the fix":
            return f"{_inbound_to(setting)} The procedure is flown at {_knots(setting.procedure_knots)}."
        case "crossing outbound":
            return f"{callsign} {_inbound_to(setting)} {wind} {_reversal(setting)}"
        case "feeder route" | "amended altitude":
            return f"{callsign} {_inbound_to(setting)} {wind}"
        case "crossing inbound":
            return f"{callsign} {_inbound_to(setting)} {wind} Final course {course}, {_reversal(setting)}"
        case "vector" | "on the vector":
            return f"{callsign} {wind} Vectors to the final course, {course}."
        case "arc" | "before the lead radial" | "lead radial":
            return f"{callsign} {_reversal(setting)} Final course {course}."
        case "outbound" | "procedure turn" | "procedure turn leg" | "turn inbound":
            return f"{_reversal(setting)} Inbound course {course}. You are on the way out."
        case "established inbound":
            altitude = f"{{altitude: {approach.course_reversal.altitude_feet}}}"
            to_the_fix = f"then {{altitude: {final.altitude_feet}}} to the fix"
            return f"{callsign} Turning inbound, course {course}, {altitude} until established, {to_the_fix}."
        case "slow and configure":
            return f"Inbound on {course}. Final is flown at {_knots(setting.final_knots)}."
        case "final approach fix":
            return f"{callsign} Crossing the final fix inbound, course {course}. {_below_the_fix(setting)}"
        case "missed approach point":
            seconds = missed_approach_seconds(setting)
            timed = "" if seconds is None else " The clock runs."
            climb = f"The missed approach climbs to {{altitude: {missed.climb_feet}}}."
            return f"{callsign} {at_minimums}{timed} {climb}"
        case "turn to the fix":
            to = approach.navaid(missed.to).name
            return f"Missed approach, climbing to {{altitude: {missed.climb_feet}}}. Then a {missed.turn} turn to {to}."
        case "runway" if final.circling_to:
            return f"{at_minimums} You circle to runway {{runway: {final.circling_to}}}."
        case _:
            return at_minimums


def _callsign(callsign: str) -> str:
    return f"{{callsign: {callsign}}}."


def _knots(knots: float) -> str:
    return f"{{speed: {rounded(knots)}}} knots"


def _wind(day: Day) -> str:
    wind = day.today.wind
    if not wind.knots:
        return "No wind."
    return f"Wind {{wind: {text(wind.from_degrees)}/{rounded(wind.knots)}}}."


def _inbound_to(setting: Setting) -> str:
    heading = setting.corrected(setting.arrival_course_degrees, setting.arrival_knots).heading
    altitude = setting.approach.start.altitude_feet
    return f"Inbound to {setting.initial_fix.name}, heading {{heading: {heading}}}, {{altitude: {altitude}}}."


def _arriving(hold: HoldProcedure, day: Day) -> str:
    arrival = hold.start.radial_degrees + 180.0
    heading = day.corrected(arrival % 360.0 or 360.0, day.procedure_knots).heading
    speed = _knots(day.procedure_knots)
    return f"Hold at {speed}. You came heading {{heading: {heading}}}, and hold at {{altitude: {hold.altitude_feet}}}."


def _pattern(fix: str, inbound_degrees: float, turns: str) -> str:
    return f"The hold is at {fix}, inbound {{course: {text(inbound_degrees)}}}, {turns} turns."


def _missed_hold(setting: Setting, hold: Hold) -> str:
    name = setting.approach.navaid(hold.fix).name
    return f"{_knots(setting.final_knots)}. {_pattern(name, hold.inbound_degrees, hold.turns)}"


def _in_lieu(setting: Setting, fix: str) -> str:
    reversal = setting.approach.course_reversal
    turns = reversal.turns if isinstance(reversal, HoldInLieu) else "right"
    at = f"At {{altitude: {reversal.altitude_feet}}}, {_knots(setting.procedure_knots)}."
    return f"{_pattern(fix, setting.approach.final.course_degrees, turns)} {at}"


def _reversal(setting: Setting) -> str:
    """The way out, as it is charted."""
    approach = setting.approach
    altitude = f"{{altitude: {approach.course_reversal.altitude_feet}}}"
    match approach.course_reversal:
        case ProcedureTurn() as reversal:
            course = text(approach.outbound_degrees)
            return f"Outbound course {{course: {course}}}, procedure turn {reversal.side}, {altitude}."
        case Teardrop() as reversal:
            return f"Outbound course {{course: {text(reversal.outbound_degrees)}}}, teardrop, {altitude}."
        case Arc() as reversal:
            radial = text(approach.start.radial_degrees)
            miles = f"{{distance: {reversal.distance_nm:g}}}"
            return f"From the {{radial: {radial}}} radial, the arc at {miles} miles, {altitude}."
        case StraightIn() | HoldInLieu() | NoProcedureTurn():
            return f"{altitude} until established."


def _below_the_fix(setting: Setting) -> str:
    final = setting.approach.final
    if final.glidepath:
        return f"The glidepath crosses the fix at {{altitude: {final.altitude_feet}}}."
    if final.step_downs:
        return f"Then {{altitude: {final.step_downs[0].altitude_feet}}} to the step-down."
    return f"Minimums {{minimums: {final.minimums_feet}}}."


def _chart(setting: Setting) -> str:
    """What is read off the chart for the brief."""
    approach = setting.approach
    final = approach.final
    navaid = approach.navaid(final.navaid)
    tuned = "" if navaid.frequency is None else f"{navaid.name} {{frequency: {navaid.frequency}}}. "
    above = setting.flow.alert_above_minimums_feet
    alert = f", the alert {{height: {above}}} above" if above else ""
    miles = final.missed_approach_point.distance_nm
    timed = ""
    if missed_approach_seconds(setting) is not None:
        timed = (
            f" {{distance: {miles:g}}} miles to the missed approach point, at {_knots(setting.final_knots)}."
        )
    missed = approach.missed_approach
    to = approach.navaid(missed.to).name
    circling = f" You circle to runway {{runway: {final.circling_to}}}." if final.circling_to else ""
    name, pressure = altimeter_setting(approach.region, setting.today.altimeter_inches)
    return (
        f"{approach.field.name} {name} {pressure}. From the chart: {tuned}"
        f"Final course {{course: {text(final.course_degrees)}}}. {_reversal(setting)} "
        f"Minimums {{minimums: {final.minimums_feet}}}{alert}.{timed} Missed approach to "
        f"{{altitude: {missed.climb_feet}}}, then a {missed.turn} turn direct {to}.{circling}"
    )
