"""A holding pattern as it is cleared, as data."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator

from voice_trainer.drills.model import Navaid, Part, SpokenName, Text
from voice_trainer.flight.courses import Side, reciprocal
from voice_trainer.phraseology.slots import Region, slot_type
from voice_trainer.procedures.approach import Altitude, Course, Ident, ProcedureName, Start, UsualWind, Words

Point = Literal["north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"]
POINTS: tuple[Point, ...] = (
    "north",
    "northeast",
    "east",
    "southeast",
    "south",
    "southwest",
    "west",
    "northwest",
)


class HoldProcedure(Part):
    """One hold: where, which way round, how high, and until when."""

    hold: Annotated[ProcedureName, Field(description="Its name, by which it is run and kept in the logbook.")]
    spoken_name: Annotated[SpokenName | None, Field(description="What it is started by, by voice.")] = None
    title: Annotated[Text, Field(description="Its title, in a line.")]
    region: Annotated[Region, Field(description="How numbers are spoken, and what remarks recommend.")] = (
        "faa"
    )
    control: Annotated[Words, Field(description="Who clears it.")]
    callsign: Annotated[str, Field(description="The student's callsign.")] = "Heron 24"
    navaids: Annotated[
        tuple[Navaid, ...], Field(min_length=1, max_length=4, description="The navaids and waypoints.")
    ]
    fix: Annotated[Ident, Field(description="The ident of the fix.")]
    inbound_degrees: Annotated[Course, Field(description="The inbound course.")]
    turns: Annotated[Side, Field(description="To the left or right.")] = "right"
    altitude_feet: Annotated[Altitude, Field(description="At what altitude.")]
    time_now: Annotated[str, Field(description="The time at the clearance.")]
    expect_further_clearance: Annotated[
        str, Field(description="The time at which to expect further clearance.")
    ]
    start: Annotated[
        Start, Field(description="Where the aeroplane begins, seen from the fix; it flies towards it.")
    ]
    wind: Annotated[UsualWind, Field(description="The wind of an ordinary day, where none is given.")] = (
        UsualWind()
    )
    profile: Annotated[str, Field(description="Which aeroplane: piston, turboprop or jet trainer.")] = (
        "turboprop"
    )
    sources: Annotated[tuple[str, ...], Field(description="Where its rules and numbers come from.")] = ()
    pronounce: Annotated[dict[str, str], Field(description="How made-up names sound, in ARPAbet.")] = {}

    @field_validator("callsign")
    @classmethod
    def _is_callsign(cls, value: str) -> str:
        return slot_type("callsign").canonical(value)

    @field_validator("time_now", "expect_further_clearance", mode="before")
    @classmethod
    def _is_time(cls, value: object) -> str:
        return slot_type("time").canonical(str(value))

    def navaid(self, ident: str) -> Navaid:
        """The navaid of that ident. Raises KeyError."""
        for navaid in self.navaids:
            if navaid.ident == ident:
                return navaid
        raise KeyError(ident)

    @property
    def outbound_degrees(self) -> float:
        """The course away from the fix: on it the pattern lies, and it is the radial of a navaid that is the fix."""
        return reciprocal(self.inbound_degrees)

    @property
    def direction(self) -> Point:
        """Where the pattern lies, seen from the fix, to one of eight points. Source: AIM 5-3-8i."""
        return POINTS[round(self.outbound_degrees / 45.0) % 8]
