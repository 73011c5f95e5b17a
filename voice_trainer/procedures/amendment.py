"""A controller amends the altitude of the course reversal, and gives an altimeter setting; both are read back."""

from __future__ import annotations

from voice_trainer.drills.model import Call
from voice_trainer.procedures.approach import Approach, NoProcedureTurn, ProcedureTurn, StraightIn, Teardrop
from voice_trainer.procedures.calls import altimeter_setting, callsign_read_back
from voice_trainer.procedures.setting import Setting
from voice_trainer.procedures.sheet import Sheet

RAISED_BY_FEET = (200, 300, 400)
"""More than the test standards allow an altitude to be off, so that whoever flies the charted one is seen (ours)."""

LEAST_OUTBOUND_SECONDS = 60
"""The exchange, and the climb, take about so long outbound (ours)."""

AFTER_SECONDS = 2.0


def amended_altitudes(approach: Approach) -> tuple[int, ...]:
    """The altitudes to which a controller may amend, above the charted one and no higher than it begins.

    None where there is no time for it before the altitude is left again: an outbound leg of less than a minute, or a
    vector to the course of a VOR, whose needle is alive from far away.
    """
    reversal = approach.course_reversal
    if isinstance(reversal, ProcedureTurn | Teardrop) and reversal.outbound_seconds < LEAST_OUTBOUND_SECONDS:
        return ()
    if isinstance(reversal, StraightIn) and approach.kind not in ("localizer", "ils", "rnav"):
        return ()
    raised = (reversal.altitude_feet + feet for feet in RAISED_BY_FEET)
    return tuple(feet for feet in raised if feet <= approach.start.altitude_feet)


def amend(setting: Setting, sheet: Sheet) -> None:
    """The controller's words and the readback, once all before is said; nothing on a day without an amendment."""
    amendment = setting.today.amendment
    if amendment is None:
        return
    approach = setting.approach
    callsign, place = approach.callsign, approach.field.name
    established = (
        "until established"
        if isinstance(approach.course_reversal, NoProcedureTurn | StraightIn)
        else "until established inbound"
    )
    name, slot = altimeter_setting(approach.region, amendment.altimeter_inches)
    charted = approach.course_reversal.altitude_feet
    sheet.step(
        "amended altitude",
        "settled",
        f"{{callsign: {callsign}}}, amend altitude, maintain {{altitude: {amendment.altitude_feet}}} {established}, "
        f"{place} {name} {slot}.",
        [
            Call(
                call="altitude",
                say=f"maintain {{altitude: {amendment.altitude_feet}}} [until established [inbound]]",
                does="altitude",
                ask="confirm the altitude",
                because=f"{amendment.altitude_feet:,} holds until established, in place of {charted:,}; altitudes are "
                "read back (AIM 4-4-7b).",
            ),
            Call(
                call=name.lower().replace(" ", ""),
                say=f"[{place.lower()}] {name.lower()} {slot}",
                ask=f"say the {name}",
                because="The altimeter setting is read back (ICAO Doc 4444 4.5.7.5.1 c; FAA: common practice).",
            ),
            callsign_read_back(callsign),
        ],
        speaker="controller",
        flow_name="readback of the amendment",
        in_any_order=True,
        asks=True,
        after_seconds=AFTER_SECONDS,
    )


def amended_segment(setting: Setting, sheet: Sheet, begins: str, fastest_knots: float | None = None) -> None:
    """From the event `begins` on the amended altitude has to be there; nothing on a day without an amendment."""
    amendment = setting.today.amendment
    if amendment is not None:
        sheet.segment(
            AMENDED, begins, lowest_altitude_feet=amendment.altitude_feet, fastest_knots=fastest_knots
        )


AMENDED = "amended altitude"
"""The segment in which the amended altitude holds."""
