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

    hold: ProcedureName
    spoken_name: SpokenName | None = None
    title: Text
    region: Region = "faa"
    control: Words
    callsign: str = "Heron 24"
    navaids: Annotated[tuple[Navaid, ...], Field(min_length=1, max_length=4)]
    fix: Ident
    inbound_degrees: Course
    turns: Side = "right"
    altitude_feet: Altitude
    time_now: str
    expect_further_clearance: str
    start: Start
    wind: UsualWind = UsualWind()
    profile: str = "turboprop"
    sources: tuple[str, ...] = ()
    pronounce: dict[str, str] = {}

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
