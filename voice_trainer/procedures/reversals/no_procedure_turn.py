"""No course reversal: over a feeder route to the initial fix, and from there straight on inbound."""

from __future__ import annotations

from voice_trainer.drills.model import Call
from voice_trainer.flight.courses import signed_difference, text
from voice_trainer.flight.turns import STANDARD_RATE_DEGREES_PER_SECOND
from voice_trainer.procedures.amendment import amend, amended_segment
from voice_trainer.procedures.approach import NoProcedureTurn
from voice_trainer.procedures.calls import descend, set_course, spoken, turn
from voice_trainer.procedures.fix_checks import checks_at_a_fix
from voice_trainer.procedures.house_flow import Check
from voice_trainer.procedures.places import fix_event, fix_words, passage_cue
from voice_trainer.procedures.reversals.common import intercept_final
from voice_trainer.procedures.setting import SMALLEST_CORRECTION_DEGREES, Setting, turn_side
from voice_trainer.procedures.sheet import Sheet

SETTLING_SECONDS = 6.0
"""On the final course after the turn, before the next thing is done (ours)."""


def fly_feeder(setting: Setting, sheet: Sheet, reversal: NoProcedureTurn) -> None:
    """Down to the altitude of the way to the initial fix, and what the controller makes of it."""
    approach, fix = setting.approach, setting.initial_fix
    if reversal.altitude_feet < approach.start.altitude_feet:
        sheet.step(
            "feeder route",
            "settled",
            f"On the feeder route to {fix.name}.",
            [
                descend(
                    "transition",
                    reversal.altitude_feet,
                    f"Cleared for the approach, on its feeder route: {reversal.altitude_feet:,} to {fix.name}.",
                )
            ],
            speaker="instructor",
        )
    amend(setting, sheet)
    amended_segment(setting, sheet, f"distance {setting.flow.slow_within_nm:.1f} {fix.ident}")


def fly_from_initial_fix(setting: Setting, sheet: Sheet) -> None:
    """The checks over the initial fix, and, once on the final course, down to the final approach fix."""
    approach, flow = setting.approach, setting.flow
    final, fix = approach.final, setting.initial_fix
    course = final.course_degrees
    heading = setting.corrected(course, setting.procedure_knots)
    arrival = float(setting.corrected(setting.arrival_course_degrees, setting.procedure_knots).heading)
    turned = abs(signed_difference(arrival, float(heading.heading)))
    due: dict[Check, Call] = {"twist": set_course("twist", course, f"The final course is {text(course)}.")}
    if turned >= SMALLEST_CORRECTION_DEGREES:
        due["turn"] = turn("turn", turn_side(arrival, float(heading.heading)), heading)
    follow = intercept_final(setting)
    if "track" in flow.checks:
        due["track"] = follow
    event = fix_event(setting, fix.ident)
    calls = checks_at_a_fix(flow, due)
    sheet.step(
        "crossing inbound",
        event,
        passage_cue(fix),
        calls if "track" in due else [*calls, follow],
        flow_name=f"checks inbound: {flow.house_flow}",
    )
    sheet.segment("inbound", event, lowest_altitude_feet=final.altitude_feet, course=(final.navaid, course))
    inbound: list[Call] = []
    if final.altitude_feet < setting.until_established_feet and not final.glidepath:
        inbound.append(
            descend(
                "transition",
                final.altitude_feet,
                f"{setting.until_established_feet:,} holds until established inbound; then {final.altitude_feet:,} "
                "to the final approach fix.",
            )
        )
    if "procedure turn inbound" in flow.reports:
        inbound.append(
            spoken(
                f"[{approach.field.approach_control.lower()}] {{callsign: {approach.callsign}}} {fix_words(fix)} "
                "inbound",
                "talk",
                "The house reports established inbound, with the callsign.",
            )
        )
    if inbound:
        sheet.step(
            "established inbound",
            "settled",
            "Needle is centred.",
            inbound,
            flow_name="established",
            after_seconds=round(turned / STANDARD_RATE_DEGREES_PER_SECOND) + SETTLING_SECONDS,
        )
