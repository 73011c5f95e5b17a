"""A DME arc from where the aeroplane comes, to the final course."""

from __future__ import annotations

from voice_trainer.drills.model import Call
from voice_trainer.flight.courses import Side, normalise_degrees, signed_difference, text
from voice_trainer.flight.leads import lead_radials
from voice_trainer.flight.turns import radius_by_rule_nm
from voice_trainer.procedures.amendment import amend, amended_segment
from voice_trainer.procedures.approach import Arc
from voice_trainer.procedures.calls import descend, set_course, turn
from voice_trainer.procedures.reversals.common import come_back, intercept_final
from voice_trainer.procedures.setting import Setting, turn_side
from voice_trainer.procedures.sheet import Sheet


def fly_arc(setting: Setting, sheet: Sheet, reversal: Arc) -> None:
    """From the way inbound, over the arc, to established on the final course."""
    approach = setting.approach
    navaid = approach.navaid(approach.final.navaid)
    course = approach.final.course_degrees
    start_radial, last_radial = approach.start.radial_degrees, approach.outbound_degrees
    clockwise = signed_difference(start_radial, last_radial) > 0.0
    onto: Side = "left" if clockwise else "right"
    away: Side = "right" if clockwise else "left"
    knots = setting.arrival_knots
    lead = round(radius_by_rule_nm(knots), 1)
    first = text(normalise_degrees(start_radial + (90.0 if clockwise else -90.0)))
    inbound = setting.arrival_course_degrees
    side = turn_side(inbound, float(first))
    calls: list[Call] = [
        turn(
            "turn",
            side,
            first,
            f"Across the {text(start_radial)} radial at 90 degrees: {first}; a lead of {lead:g} miles, half a "
            f"hundredth of {knots:g} knots (CNATRA P-340 fig. 6-60).",
            within_seconds=5.0,
        ),
        Call(
            call="arc",
            say=f"(join | maintain | fly) [the] {{distance: {reversal.distance_nm:g}}} [mile] arc",
            does="arc",
            given={"left/right": side},
            because=f"The arc is flown at {reversal.distance_nm:g} miles from {navaid.name}.",
        ),
    ]
    if reversal.altitude_feet < approach.start.altitude_feet:
        calls.append(
            descend("transition", reversal.altitude_feet, f"The arc is flown at {reversal.altitude_feet:,}.")
        )
    begins = f"distance {reversal.distance_nm + lead:.1f} {navaid.ident}"
    sheet.step(
        "arc",
        begins,
        f"{{distance: {reversal.distance_nm + lead:g}}} D M E.",
        calls,
        flow_name="onto the arc",
    )
    sheet.segment("arc", begins, lowest_altitude_feet=reversal.altitude_feet)
    amend(setting, sheet)
    radials = round(lead_radials(reversal.distance_nm, lead))
    back = -1.0 if clockwise else 1.0
    early = text(normalise_degrees(last_radial + back * (radials + 10)))
    amended_segment(setting, sheet, f"radial {early} {navaid.ident}")
    sheet.step(
        "before the lead radial",
        f"radial {early} {navaid.ident}",
        f"Radial {{radial: {early}}}.",
        [set_course("twist", course, f"The final course is {text(course)}.")],
        flow_name="final course",
    )
    leading = text(normalise_degrees(last_radial + back * radials))
    sheet.step(
        "lead radial",
        f"radial {leading} {navaid.ident}",
        f"Radial {{radial: {leading}}}.",
        [
            turn(
                "turn",
                onto if signed_difference(_arc_heading(leading, clockwise), course) < 0.0 else away,
                text(course),
                f"60 over {reversal.distance_nm:g} miles times a turn of {lead:g} miles is a lead of {radials} "
                f"radials; the turn is to {text(course)} (CNATRA P-340 fig. 6-60).",
                within_seconds=5.0,
            ),
            intercept_final(setting),
        ],
        flow_name="turn inbound",
    )
    come_back(setting, sheet, f"established {text(course)}")


def _arc_heading(radial: str, clockwise: bool) -> float:
    return normalise_degrees(float(radial) + (90.0 if clockwise else -90.0))
