"""The teardrop: out on a course of its own, and one turn of more than 180 degrees onto the final course."""

from __future__ import annotations

from voice_trainer.flight.courses import Side, signed_difference, text
from voice_trainer.flight.procedure_turn import FASTEST_KNOTS
from voice_trainer.flight.timing import duration_text
from voice_trainer.procedures.amendment import amend, amended_segment
from voice_trainer.procedures.approach import Teardrop
from voice_trainer.procedures.calls import set_course, turn
from voice_trainer.procedures.reversals.common import (
    Outbound,
    come_back,
    cross_initial_fix,
    intercept_final,
    intercept_heading,
)
from voice_trainer.procedures.setting import Setting
from voice_trainer.procedures.sheet import Sheet, seconds_spoken


def fly_teardrop(setting: Setting, sheet: Sheet, reversal: Teardrop) -> None:
    """From the initial fix to established inbound."""
    course = setting.approach.final.course_degrees
    heading = setting.outbound_heading(reversal.outbound_degrees, setting.procedure_knots)
    because = "The leg outbound is timed from abeam or wings level, whichever is last (CNATRA P-765 p. 7-7)."
    cross_initial_fix(
        setting, sheet, Outbound(reversal.outbound_degrees, heading, because), reversal.altitude_feet
    )
    amend(setting, sheet)
    amended_segment(setting, sheet, f"clock {duration_text(reversal.outbound_seconds)}", FASTEST_KNOTS)
    side = turn_back_side(setting, reversal)
    # Who turns right came out on the left of the final course, as seen by somebody who faces away from the field.
    back = text(intercept_heading(course, is_left_of_course=side == "left"))
    sheet.step(
        "turn inbound",
        f"clock {duration_text(reversal.outbound_seconds)}",
        seconds_spoken(reversal.outbound_seconds),
        [
            turn(
                "turn",
                side,
                back,
                f"The final course lies to the {side}; {back} meets {text(course)} at 45 degrees.",
                within_seconds=5.0,
            ),
            set_course("twist", course, f"The final course is {text(course)}."),
            intercept_final(setting),
        ],
    )
    come_back(setting, sheet, f"established {text(course)}")


def turn_back_side(setting: Setting, reversal: Teardrop) -> Side:
    """The side on which the final course lies, for somebody who flies outbound."""
    across = signed_difference(reversal.outbound_degrees, setting.approach.outbound_degrees)
    return "right" if across > 0.0 else "left"
