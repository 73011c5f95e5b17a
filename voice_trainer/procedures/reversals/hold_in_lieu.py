"""A holding pattern in lieu of a procedure turn: once around, and inbound."""

from __future__ import annotations

from voice_trainer.flight.procedure_turn import FASTEST_KNOTS
from voice_trainer.procedures.amendment import amend, amended_segment
from voice_trainer.procedures.approach import HoldInLieu
from voice_trainer.procedures.hold_entry import (
    Pattern,
    decide_entry,
    enter_outbound,
    leg_end,
    turn_inbound,
)
from voice_trainer.procedures.places import fix_event
from voice_trainer.procedures.reversals.common import come_back
from voice_trainer.procedures.setting import Setting
from voice_trainer.procedures.sheet import Sheet

DECIDED_WITHIN_NM = 5.0


def fly_hold_in_lieu(setting: Setting, sheet: Sheet, reversal: HoldInLieu) -> None:
    """Over the fix into the entry, and established inbound."""
    pattern = pattern_of(setting, reversal)
    event = fix_event(setting, pattern.fix.ident)
    sheet.segment("hold", event, lowest_altitude_feet=reversal.altitude_feet, fastest_knots=FASTEST_KNOTS)
    enter_outbound(setting, sheet, pattern, event)
    amend(setting, sheet)
    amended_segment(setting, sheet, leg_end(setting, pattern), FASTEST_KNOTS)
    come_back(setting, sheet, turn_inbound(setting, sheet, pattern))


def decide_on_entry(setting: Setting, sheet: Sheet, reversal: HoldInLieu) -> None:
    """The entry is named, some miles before the fix."""
    when = f"distance {DECIDED_WITHIN_NM:.1f} {setting.initial_fix.ident}"
    decide_entry(sheet, pattern_of(setting, reversal), when)


def pattern_of(setting: Setting, reversal: HoldInLieu) -> Pattern:
    """The pattern, and how the aeroplane comes to it."""
    approach = setting.approach
    heading = setting.corrected(setting.arrival_course_degrees, setting.procedure_knots).heading
    return Pattern(
        fix=setting.initial_fix,
        inbound_degrees=approach.final.course_degrees,
        turns=reversal.turns,
        altitude_feet=reversal.altitude_feet,
        heading_degrees=float(heading),
        airspeed_knots=setting.procedure_knots,
        from_feet=approach.start.altitude_feet,
        leg_nm=reversal.leg_nm,
        callsign=setting.approach.callsign,
        control=setting.approach.field.approach_control,
    )
