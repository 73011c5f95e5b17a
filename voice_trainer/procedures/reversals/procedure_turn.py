"""The 45/180 procedure turn: a timed leg outbound, 45 degrees to the charted side, a timed leg, and 180 back."""

from __future__ import annotations

from voice_trainer.flight.courses import Side, procedure_turn_45_180, text
from voice_trainer.flight.procedure_turn import FASTEST_KNOTS, TimedFrom, leg_seconds
from voice_trainer.flight.timing import duration_text
from voice_trainer.procedures.amendment import amend, amended_segment
from voice_trainer.procedures.approach import ProcedureTurn
from voice_trainer.procedures.calls import clock, set_course, turn
from voice_trainer.procedures.reversals.common import Outbound, come_back, cross_initial_fix, intercept_final
from voice_trainer.procedures.setting import Setting
from voice_trainer.procedures.sheet import Sheet, seconds_spoken


def fly_procedure_turn(setting: Setting, sheet: Sheet, reversal: ProcedureTurn) -> None:
    """From the initial fix to established inbound."""
    outbound = setting.approach.outbound_degrees
    heading = setting.outbound_heading(outbound, setting.procedure_knots)
    because = "The outbound leg is timed from abeam or wings level, whichever is last (CNATRA P-765 p. 7-7)."
    cross_initial_fix(setting, sheet, Outbound(outbound, heading, because), reversal.altitude_feet)
    amend(setting, sheet)
    amended_segment(setting, sheet, f"clock {duration_text(reversal.outbound_seconds)}", FASTEST_KNOTS)
    out, back = (text(each) for each in procedure_turn_45_180(outbound, reversal.side))
    other: Side = "left" if reversal.side == "right" else "right"
    sign = "and" if reversal.side == "right" else "less"
    from_the_start = setting.flow.leg_timed_from == "start of the turn"
    timed = clock(
        "clock",
        "The leg is timed from the start of the 45-degree turn (P-553 note 2)."
        if from_the_start
        else "The leg is timed from the end of the 45-degree turn (CNATRA P-553).",
    )
    timed_from: TimedFrom = "start of the 45" if from_the_start else "end of the 45"
    leg = round(leg_seconds(timed_from, setting.today.profile.category))
    sheet.step(
        "procedure turn",
        f"clock {duration_text(reversal.outbound_seconds)}",
        seconds_spoken(reversal.outbound_seconds),
        [
            turn(
                "turn",
                reversal.side,
                out,
                f"{text(outbound)} {sign} 45 is {out}: the procedure turn is to the {reversal.side} (CNATRA P-553).",
            ),
            *([timed] if from_the_start else []),
            set_course(
                "twist",
                setting.approach.final.course_degrees,
                f"Inbound is the reciprocal of {text(outbound)}: {text(setting.approach.final.course_degrees)}.",
            ),
        ],
    )
    if not from_the_start:
        sheet.step(
            "procedure turn leg", "wings level", "Wings level.", [timed], flow_name="procedure turn timing"
        )
    sheet.step(
        "turn inbound",
        f"clock {duration_text(leg)}",
        seconds_spoken(leg),
        [
            turn(
                "turn",
                other,
                back,
                f"The 180-degree turn goes the opposite way, to the reciprocal of {out}: {back} (CNATRA P-553).",
                within_seconds=5.0,
            ),
            intercept_final(setting),
        ],
    )
    come_back(
        setting,
        sheet,
        f"established {text(setting.approach.final.course_degrees)}",
    )
