"""The checks at a fix, in the order that a school teaches, and what else a house does its own way. All of it data.

The order of the T-checks differs by source, so three published ones come with the program, and a house may have
its own.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator

from voice_trainer.drills.model import Name, Part, Text

Check = Literal["time", "turn", "time again", "transition", "throttle", "twist", "talk", "track"]
"""'time again' is the clock, once the wings are level; 'throttle' is what other orders call the transition."""

Report = Literal["outbound", "procedure turn inbound", "final approach fix", "missed approach", "holding"]


class HouseFlow(Part):
    """How a house flies and speaks.

    `not_required_said`: the checks of which 'not required' is said where there is nothing to do.
    `corrects_for_wind`: headings outbound are corrected for the wind when they are first flown.
    `reports` are those that the house makes without being asked. `alert_above_minimums_feet` is the house rule for the
    minimums alert. `leg_timed_from`: a procedure turn's leg is timed from the end of its 45-degree turn (CNATRA P-553)
    or from the turn's start (ICAO: 1 minute for categories A and B, 1 minute 15 seconds for the others; P-553 note 2).
    """

    house_flow: Annotated[Name, Field(description="Its name.")]
    title: Annotated[Text, Field(description="Its title, in a line.")]
    source: Annotated[Text, Field(description="Where the order comes from.")]
    checks: Annotated[
        tuple[Check, ...],
        Field(
            min_length=1,
            max_length=9,
            description="The checks at a fix, in order. 'time again' is the clock once the wings are "
            "level; 'throttle' is what other orders call the transition.",
        ),
    ]
    not_required_said: Annotated[
        tuple[Check, ...],
        Field(description="The checks of which 'not required' is said where there is nothing to do."),
    ] = ("time", "turn")
    corrects_for_wind: Annotated[
        bool,
        Field(description="Whether headings outbound are corrected for the wind when they are first flown."),
    ] = True
    reports: Annotated[
        tuple[Report, ...], Field(description="The reports that are made without being asked.")
    ] = (
        "outbound",
        "procedure turn inbound",
        "final approach fix",
        "missed approach",
    )
    slow_within_nm: Annotated[
        float, Field(gt=0, le=10, description="How far before the fix the aeroplane is slowed.")
    ] = 2.0
    checklist: Annotated[str, Field(description="What is said when the landing checks are done.")] = (
        "before landing checklist complete"
    )
    callout_above_minimums_feet: Annotated[
        int, Field(ge=50, le=500, description="How far above the minimums their approach is called.")
    ] = 100
    alert_above_minimums_feet: Annotated[
        int, Field(ge=0, le=500, description="How far above the minimums the alert is set.")
    ] = 0
    leg_timed_from: Annotated[
        Literal["end of the turn", "start of the turn"],
        Field(
            description="From where a procedure turn's leg is timed: the end of its 45-degree turn "
            "(CNATRA P-553), or the turn's start (ICAO)."
        ),
    ] = "end of the turn"

    @field_validator("checks")
    @classmethod
    def _flyable(cls, value: tuple[Check, ...]) -> tuple[Check, ...]:
        """What the aeroplane does only when it is said has to be said by somebody: the turn, the clock, the descent."""
        for check in value:
            if value.count(check) > 1:
                raise ValueError(f"'{check}' stands there twice; give each check once")
        for wanted, so_that in (("time", "starts the clock"), ("turn", "turns"), ("transition", "descends")):
            if wanted not in value and not (wanted == "transition" and "throttle" in value):
                named = "'transition' or 'throttle'" if wanted == "transition" else f"'{wanted}'"
                raise ValueError(f"without {named} nobody {so_that}; add it")
        return value


PUBLISHED = {
    flow.house_flow: flow
    for flow in (
        HouseFlow(
            house_flow="six ts",
            title="Time, turn, time, transition, twist, talk",
            source="CNATRA P-340 ch. 6",
            checks=("time", "turn", "time again", "transition", "twist", "talk"),
        ),
        HouseFlow(
            house_flow="six ts with track",
            title="Time, turn, transition, twist, talk, track",
            source="CNATRA P-801 ch. 7",
            checks=("time", "turn", "transition", "twist", "talk", "track"),
        ),
        HouseFlow(
            house_flow="five ts",
            title="Turn, time, twist, throttle, talk",
            source="as civil schools teach it; found in no handbook (common practice)",
            checks=("turn", "time", "twist", "throttle", "talk"),
        ),
    )
}
"""The orders that come with the program, by name; their sources differ, and say so."""
