"""What the course reversals share: leaving the fix outbound, and coming onto the final course."""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.drills.model import Call
from voice_trainer.flight.courses import normalise_degrees, signed_difference, text
from voice_trainer.flight.procedure_turn import FASTEST_KNOTS
from voice_trainer.procedures.calls import clock, descend, set_course, spoken, track, turn
from voice_trainer.procedures.fix_checks import checks_at_a_fix
from voice_trainer.procedures.house_flow import Check
from voice_trainer.procedures.places import fix_event, fix_words, passage_cue
from voice_trainer.procedures.setting import (
    SMALLEST_CORRECTION_DEGREES,
    SMALLEST_TURN_DEGREES,
    Corrected,
    Setting,
    turn_side,
)
from voice_trainer.procedures.sheet import Sheet

INTERCEPT_DEGREES = 45.0
"""Between the heading that comes back and the final course: what a 45/180 procedure turn leaves (CNATRA P-553)."""


@dataclass(frozen=True, slots=True)
class Outbound:
    """A leg away from the initial fix: its course, its heading, and from where it is timed."""

    course_degrees: float
    heading: Corrected
    timed_because: str


def cross_initial_fix(setting: Setting, sheet: Sheet, outbound: Outbound, altitude_feet: int) -> None:
    """The checks over the fix, and the clock and the course once the wings are level outbound."""
    approach, flow = setting.approach, setting.flow
    fix = setting.initial_fix
    arrival = float(setting.corrected(setting.arrival_course_degrees, setting.procedure_knots).heading)
    turns = abs(signed_difference(arrival, float(outbound.heading.heading))) >= SMALLEST_TURN_DEGREES
    due: dict[Check, Call] = {
        "twist": set_course(
            "twist", outbound.course_degrees, f"The outbound course is {text(outbound.course_degrees)}."
        ),
    }
    started = clock("clock", outbound.timed_because)
    if abs(signed_difference(arrival, float(outbound.heading.heading))) >= SMALLEST_CORRECTION_DEGREES:
        side = turn_side(arrival, float(outbound.heading.heading))
        due["turn"] = turn("turn", side, outbound.heading)
    if not turns:
        due["time"] = started
    if altitude_feet < approach.start.altitude_feet:
        due["transition"] = descend(
            "transition", altitude_feet, f"{altitude_feet:,} is the lowest altitude of the course reversal."
        )
    if "outbound" in flow.reports:
        due["talk"] = spoken(
            f"[{approach.field.approach_control.lower()}] {{callsign: {approach.callsign}}} {fix_words(fix)} outbound",
            "talk",
            "The house reports outbound, with the callsign.",
        )
    follow = track(
        "track",
        outbound.course_degrees,
        "outbound",
        f"The needle shows how far off the outbound course, {text(outbound.course_degrees)}, it is; the cut is as many "
        "degrees, and 45 at most (CNATRA P-871 s.406).",
    )
    if "track" in flow.checks:
        due["track"] = follow
    sheet.step(
        "crossing outbound",
        fix_event(setting, fix.ident),
        passage_cue(fix),
        checks_at_a_fix(flow, due),
        flow_name=f"checks outbound: {flow.house_flow}",
    )
    sheet.segment(
        "outbound",
        fix_event(setting, fix.ident),
        lowest_altitude_feet=altitude_feet,
        fastest_knots=FASTEST_KNOTS,
    )
    level: list[Call] = [started] if turns else []
    if "track" not in due:
        level.append(follow)
    if level:
        when = "wings level" if turns else "settled"
        sheet.step("outbound", when, "Wings level." if turns else "Outbound.", level, flow_name="second time")


def come_back(setting: Setting, sheet: Sheet, when: str) -> None:
    """What is due when the aeroplane is established inbound: down to the fix's altitude, and the report."""
    approach = setting.approach
    final = approach.final
    calls: list[Call] = []
    reversal_altitude = setting.until_established_feet
    if final.altitude_feet < reversal_altitude and not final.glidepath:
        calls.append(
            descend(
                "transition",
                final.altitude_feet,
                f"{reversal_altitude:,} holds until established inbound; then {final.altitude_feet:,} to the fix.",
            )
        )
    if "procedure turn inbound" in setting.flow.reports:
        told = (
            "inbound" if approach.course_reversal.kind in ("arc", "straight in") else "procedure turn inbound"
        )
        calls.append(
            spoken(
                f"[{approach.field.approach_control.lower()}] {{callsign: {approach.callsign}}} {told}",
                "talk",
                "The house reports established inbound, with the callsign.",
            )
        )
    if calls:
        sheet.step("established inbound", when, "Needle is coming in.", calls, flow_name="established")
    sheet.segment(
        "inbound",
        when,
        lowest_altitude_feet=None if final.glidepath else final.altitude_feet,
        fastest_knots=FASTEST_KNOTS,
        course=(final.navaid, final.course_degrees),
    )


def intercept_final(setting: Setting) -> Call:
    """The final course is intercepted and kept from here."""
    course = setting.approach.final.course_degrees
    return track(
        "intercept",
        course,
        "inbound",
        f"The final course, {text(course)}, is intercepted from this heading.",
    )


def intercept_heading(final_course_degrees: float, is_left_of_course: bool) -> float:
    """The heading that comes back to the final course at 45 degrees, from the left or the right of it."""
    cut = INTERCEPT_DEGREES if is_left_of_course else -INTERCEPT_DEGREES
    return normalise_degrees(final_course_degrees + cut)
