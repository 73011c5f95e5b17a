"""An approach, as its numbers are read off a chart.

The units stand in the names. Directions are magnetic, altitudes above sea level. What the numbers have to do with each
other is checked by `voice_trainer.procedures.soundness`.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, field_validator, model_validator

from voice_trainer.drills.model import Navaid, Part, SpokenName, Text
from voice_trainer.flight.courses import Side, reciprocal
from voice_trainer.phraseology.slots import Region, slot_type

Ident = Annotated[str, Field(pattern=r"^[A-Z]{2,5}$")]
ProcedureName = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,60}$")]
Course = Annotated[float, Field(gt=0, le=360)]
Altitude = Annotated[int, Field(ge=0, le=18000)]
Distance = Annotated[float, Field(gt=0, le=60)]
Words = Annotated[str, Field(pattern=r"^[A-Za-z']+( [A-Za-z']+){0,7}$")]
"""What is spoken as it stands: words without figures."""


class Airfield(Part):
    """The airfield, and whom one speaks to."""

    name: Words
    runway: str
    touchdown_elevation_feet: Annotated[int, Field(ge=-1000, le=15000)]
    approach_control: Words
    tower: Words

    @field_validator("runway", mode="before")
    @classmethod
    def _legal(cls, value: object) -> str:
        return slot_type("runway").canonical(str(value))


class UsualWind(Part):
    """Where the wind comes from, magnetic, and how strong it is, on an ordinary day."""

    from_degrees: Course = 360.0
    knots: Annotated[float, Field(ge=0, le=80)] = 0.0


class Start(Part):
    """Where the aeroplane is when it begins, seen from the initial fix. It flies towards that fix."""

    radial_degrees: Course
    distance_nm: Distance
    altitude_feet: Altitude


class ProcedureTurn(Part):
    """A 45/180 procedure turn: outbound, 45 degrees to the charted side, and back."""

    kind: Literal["procedure turn"]
    side: Side
    altitude_feet: Altitude
    limit_nm: Annotated[float, Field(ge=5, le=15)] = 10.0
    outbound_seconds: Annotated[int, Field(ge=30, le=180)] = 60


class Teardrop(Part):
    """Out on a course of its own, and a turn of more than 180 degrees onto the final course."""

    kind: Literal["teardrop"]
    outbound_degrees: Course
    altitude_feet: Altitude
    limit_nm: Annotated[float, Field(ge=5, le=15)] = 10.0
    outbound_seconds: Annotated[int, Field(ge=30, le=300)] = 120


class HoldInLieu(Part):
    """A holding pattern in lieu of a procedure turn; its inbound course is the final course.

    Its legs are timed, or `leg_nm` long by DME where that is charted.
    """

    kind: Literal["hold in lieu"]
    turns: Side
    leg_nm: Annotated[float, Field(ge=2, le=10)] | None = None
    altitude_feet: Altitude
    limit_nm: Annotated[float, Field(ge=5, le=15)] = 10.0


class Arc(Part):
    """A DME arc from where the aeroplane comes, to the final course."""

    kind: Literal["arc"]
    distance_nm: Annotated[float, Field(ge=7, le=30)]
    altitude_feet: Altitude
    """7 miles is the least radius of an arc (from memory: FAA Order 8260.3)."""


class StraightIn(Part):
    """No course reversal: a vector or a heading to intercept the final course."""

    kind: Literal["straight in"]
    altitude_feet: Altitude
    intercept_degrees: Annotated[float, Field(ge=15, le=45)] = 30.0
    intercept_nm: Distance
    """How far from the final approach fix the intercept heading meets the course."""
    side: Side
    """The side of the final course on which the aeroplane is, for somebody who faces along it."""


class NoProcedureTurn(Part):
    """No course reversal: from the initial fix, which lies on the final course, straight on inbound.

    Charts call it NoPT (AIM 5-4-9).
    """

    kind: Literal["no procedure turn"]
    altitude_feet: Altitude
    """The lowest on the way to the initial fix."""


CourseReversal = Annotated[
    ProcedureTurn | Teardrop | HoldInLieu | Arc | StraightIn | NoProcedureTurn,
    Field(discriminator="kind"),
]


class StepDown(Part):
    """An altitude that may be gone down to from a distance on."""

    distance_nm: Distance
    altitude_feet: Altitude


class MissedApproachPoint(Part):
    """Where the approach is given up without the runway: after a time, at a distance, a navaid, or the minimums."""

    by: Literal["time", "distance", "passage", "minimums"]
    distance_nm: Annotated[float, Field(ge=0, le=30)] | None = None
    """By time: from the final approach fix. By distance: the reading, from the navaid. Else none."""
    fix: Ident | None = None
    """By passage: of which navaid or waypoint."""

    @model_validator(mode="after")
    def _complete(self) -> Self:
        if self.by in ("time", "distance") and self.distance_nm is None:
            raise ValueError(f"a missed approach point by {self.by} needs distance_nm; add it")
        if self.by == "passage" and self.fix is None:
            raise ValueError("a missed approach point by passage needs its fix; add the ident")
        return self


class Final(Part):
    """From the final approach fix to the missed approach point.

    `navaid` gives the course. The fix is the navaid itself, or lies at `fix_distance_nm` on the way to it (or, with
    `away`, beyond it), or is the waypoint `fix`.
    """

    navaid: Ident
    course_degrees: Course
    fix: Ident | None = None
    fix_distance_nm: Distance | None = None
    altitude_feet: Altitude
    """At which the fix is crossed; on a glidepath, at which it is intercepted."""
    step_downs: Annotated[tuple[StepDown, ...], Field(max_length=6)] = ()
    minimums_feet: Altitude
    glidepath: bool = False
    missed_approach_point: MissedApproachPoint
    visual_descent_nm: Distance | None = None
    """Before the missed approach point: no lower than the minimums until there, though the runway be in sight."""
    circling_to: str | None = None

    @field_validator("circling_to", mode="before")
    @classmethod
    def _legal(cls, value: object) -> str | None:
        return None if value is None else slot_type("runway").canonical(str(value))

    @model_validator(mode="after")
    def _one_fix(self) -> Self:
        if self.fix is not None and self.fix_distance_nm is not None:
            raise ValueError("the final approach fix is a waypoint or a distance; give one of them")
        return self


class Hold(Part):
    """A holding pattern at a fix."""

    fix: Ident
    inbound_degrees: Course
    turns: Side = "right"
    altitude_feet: Altitude


class MissedApproach(Part):
    """Climb straight ahead; then a turn to a fix, and a hold there."""

    climb_feet: Altitude
    turn: Side
    to: Ident
    hold: Hold | None = None


class Approach(Part):
    """One approach of one airfield."""

    approach: ProcedureName
    spoken_name: SpokenName | None = None
    title: Text
    spoken_title: Words
    kind: Literal["vor", "vor/dme", "tacan", "localizer", "ils", "rnav"]
    region: Region = "faa"
    field: Airfield
    callsign: str = "Heron 24"
    navaids: Annotated[tuple[Navaid, ...], Field(min_length=1, max_length=8)]
    initial_fix: Ident
    start: Start
    wind: UsualWind = UsualWind()
    profile: str = "turboprop"
    course_reversal: CourseReversal
    final: Final
    missed_approach: MissedApproach
    sources: tuple[str, ...] = ()
    pronounce: dict[str, str] = {}

    @field_validator("callsign")
    @classmethod
    def _is_callsign(cls, value: str) -> str:
        return slot_type("callsign").canonical(value)

    def navaid(self, ident: str) -> Navaid:
        """The navaid of that ident. Raises KeyError."""
        for navaid in self.navaids:
            if navaid.ident == ident:
                return navaid
        raise KeyError(ident)

    @property
    def outbound_degrees(self) -> float:
        """The reciprocal of the final course."""
        return reciprocal(self.final.course_degrees)
