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

    name: Annotated[Words, Field(description="Its name, as it is spoken.")]
    runway: Annotated[str, Field(description="The runway of the approach.")]
    touchdown_elevation_feet: Annotated[
        int, Field(ge=-1000, le=15000, description="The elevation of the touchdown zone.")
    ]
    approach_control: Annotated[Words, Field(description="Whom one reports to before the final.")]
    tower: Annotated[Words, Field(description="Whom one reports to on final.")]

    @field_validator("runway", mode="before")
    @classmethod
    def _legal(cls, value: object) -> str:
        return slot_type("runway").canonical(str(value))


class UsualWind(Part):
    """Where the wind comes from, magnetic, and how strong it is, on an ordinary day."""

    from_degrees: Annotated[Course, Field(description="Where it comes from, magnetic.")] = 360.0
    knots: Annotated[float, Field(ge=0, le=80, description="How strong it is.")] = 0.0


class Start(Part):
    """Where the aeroplane is when it begins, seen from the initial fix. It flies towards that fix."""

    radial_degrees: Annotated[Course, Field(description="On which radial of the initial fix.")]
    distance_nm: Annotated[Distance, Field(description="How far from it.")]
    altitude_feet: Annotated[Altitude, Field(description="At what altitude.")]


class ProcedureTurn(Part):
    """A 45/180 procedure turn: outbound, 45 degrees to the charted side, and back."""

    kind: Annotated[Literal["procedure turn"], Field(description="A 45/180 procedure turn.")]
    side: Annotated[Side, Field(description="To the left or right, seen outbound.")]
    altitude_feet: Annotated[Altitude, Field(description="The lowest altitude of it.")]
    limit_nm: Annotated[float, Field(ge=5, le=15, description="To remain within.")] = 10.0
    outbound_seconds: Annotated[int, Field(ge=30, le=180, description="How long it is flown outbound.")] = 60


class Teardrop(Part):
    """Out on a course of its own, and a turn of more than 180 degrees onto the final course."""

    kind: Annotated[Literal["teardrop"], Field(description="A teardrop.")]
    outbound_degrees: Annotated[Course, Field(description="The course outbound.")]
    altitude_feet: Annotated[Altitude, Field(description="The lowest altitude of it.")]
    limit_nm: Annotated[float, Field(ge=5, le=15, description="To remain within.")] = 10.0
    outbound_seconds: Annotated[int, Field(ge=30, le=300, description="How long it is flown outbound.")] = 120


class HoldInLieu(Part):
    """A holding pattern in lieu of a procedure turn; its inbound course is the final course.

    Its legs are timed, or `leg_nm` long by DME where that is charted.
    """

    kind: Annotated[
        Literal["hold in lieu"], Field(description="A holding pattern in lieu of a procedure turn.")
    ]
    turns: Annotated[Side, Field(description="To the left or right.")]
    leg_nm: Annotated[
        Annotated[float, Field(ge=2, le=10)] | None,
        Field(description="The length of its legs by DME; left out, they are timed."),
    ] = None
    altitude_feet: Annotated[Altitude, Field(description="The lowest altitude of it.")]
    limit_nm: Annotated[float, Field(ge=5, le=15, description="To remain within.")] = 10.0


class Arc(Part):
    """A DME arc from where the aeroplane comes, to the final course."""

    kind: Annotated[Literal["arc"], Field(description="A DME arc.")]
    distance_nm: Annotated[
        float,
        Field(ge=7, le=30, description="Its radius. 7 miles are the least (from memory: FAA Order 8260.3)."),
    ]
    altitude_feet: Annotated[Altitude, Field(description="The lowest altitude on it.")]


class StraightIn(Part):
    """No course reversal: a vector or a heading to intercept the final course."""

    kind: Annotated[Literal["straight in"], Field(description="No course reversal.")]
    altitude_feet: Annotated[Altitude, Field(description="The lowest altitude before the final.")]
    intercept_degrees: Annotated[
        float, Field(ge=15, le=45, description="The angle at which the final course is intercepted.")
    ] = 30.0
    intercept_nm: Annotated[
        Distance,
        Field(description="How far from the final approach fix the intercept heading meets the course."),
    ]
    side: Annotated[
        Side,
        Field(
            description="The side of the final course on which the aeroplane is, for somebody who "
            "faces along it."
        ),
    ]


class NoProcedureTurn(Part):
    """No course reversal: from the initial fix, which lies on the final course, straight on inbound.

    Charts call it NoPT (AIM 5-4-9).
    """

    kind: Annotated[
        Literal["no procedure turn"],
        Field(description="No course reversal: the initial fix lies on the final course (NoPT)."),
    ]
    altitude_feet: Annotated[
        Altitude, Field(description="The lowest altitude on the way to the initial fix.")
    ]


CourseReversal = Annotated[
    ProcedureTurn | Teardrop | HoldInLieu | Arc | StraightIn | NoProcedureTurn,
    Field(discriminator="kind"),
]


class StepDown(Part):
    """An altitude that may be gone down to from a distance on."""

    distance_nm: Annotated[Distance, Field(description="From this distance on.")]
    altitude_feet: Annotated[Altitude, Field(description="One may descend to this altitude.")]


class MissedApproachPoint(Part):
    """Where the approach is given up without the runway: after a time, at a distance, a navaid, or the minimums."""

    by: Annotated[
        Literal["time", "distance", "passage", "minimums"],
        Field(description="What tells that it is reached."),
    ]
    distance_nm: Annotated[
        Annotated[float, Field(ge=0, le=30)] | None,
        Field(
            description="By time: from the final approach fix. By distance: the reading, from the "
            "navaid. Else none."
        ),
    ] = None
    fix: Annotated[Ident | None, Field(description="By passage: the ident of the navaid or waypoint.")] = None

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

    navaid: Annotated[Ident, Field(description="The ident of the navaid that gives the course.")]
    course_degrees: Annotated[Course, Field(description="The final approach course.")]
    fix: Annotated[
        Ident | None, Field(description="The final approach fix, where it is a waypoint: its ident.")
    ] = None
    fix_distance_nm: Annotated[
        Distance | None,
        Field(
            description="The final approach fix, where it is a distance from the navaid. Left out, "
            "like fix: the navaid itself."
        ),
    ] = None
    altitude_feet: Annotated[
        Altitude,
        Field(
            description="The altitude at which the fix is crossed; on a glidepath, at which it is "
            "intercepted."
        ),
    ]
    step_downs: Annotated[
        tuple[StepDown, ...],
        Field(max_length=6, description="Altitudes that may be gone down to on the way."),
    ] = ()
    minimums_feet: Annotated[Altitude, Field(description="The minimums.")]
    glidepath: Annotated[bool, Field(description="Whether it is flown down a glidepath.")] = False
    missed_approach_point: Annotated[
        MissedApproachPoint, Field(description="Where the approach is given up without the runway.")
    ]
    visual_descent_nm: Annotated[
        Distance | None,
        Field(
            description="Before the missed approach point: no lower than the minimums until there, "
            "though the runway be in sight."
        ),
    ] = None
    circling_to: Annotated[str | None, Field(description="The runway that is circled to.")] = None

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

    fix: Annotated[Ident, Field(description="The ident of its fix.")]
    inbound_degrees: Annotated[Course, Field(description="The inbound course.")]
    turns: Annotated[Side, Field(description="To the left or right.")] = "right"
    altitude_feet: Annotated[Altitude, Field(description="Its altitude.")]


class MissedApproach(Part):
    """Climb straight ahead; then a turn to a fix, and a hold there."""

    climb_feet: Annotated[Altitude, Field(description="Climb to.")]
    turn: Annotated[Side, Field(description="Then a turn to this side.")]
    to: Annotated[Ident, Field(description="Direct to the navaid or waypoint of this ident.")]
    hold: Annotated[Hold | None, Field(description="The hold there.")] = None


class Approach(Part):
    """One approach of one airfield."""

    approach: Annotated[
        ProcedureName, Field(description="Its name, by which it is run and kept in the logbook.")
    ]
    spoken_name: Annotated[SpokenName | None, Field(description="What it is started by, by voice.")] = None
    title: Annotated[Text, Field(description="Its title, as on the chart.")]
    spoken_title: Annotated[
        Words, Field(description="How it is said, figures and runway left out: V O R, I L S.")
    ]
    kind: Annotated[
        Literal["vor", "vor/dme", "tacan", "localizer", "ils", "rnav"],
        Field(description="What it is flown by."),
    ]
    region: Annotated[Region, Field(description="How numbers are spoken, and what remarks recommend.")] = (
        "faa"
    )
    field: Annotated[Airfield, Field(description="The airfield.")]
    callsign: Annotated[str, Field(description="The student's callsign.")] = "Heron 24"
    navaids: Annotated[
        tuple[Navaid, ...], Field(min_length=1, max_length=8, description="The navaids and waypoints.")
    ]
    initial_fix: Annotated[Ident, Field(description="The ident of the initial fix.")]
    start: Annotated[
        Start,
        Field(
            description="Where the aeroplane begins, seen from the initial fix; it flies towards that fix."
        ),
    ]
    wind: Annotated[UsualWind, Field(description="The wind of an ordinary day, where none is given.")] = (
        UsualWind()
    )
    profile: Annotated[str, Field(description="Which aeroplane: piston, turboprop or jet trainer.")] = (
        "turboprop"
    )
    course_reversal: Annotated[CourseReversal, Field(description="How one gets onto the final course.")]
    final: Annotated[Final, Field(description="From the final approach fix to the missed approach point.")]
    missed_approach: Annotated[MissedApproach, Field(description="What is flown after it.")]
    sources: Annotated[tuple[str, ...], Field(description="Where its rules and numbers come from.")] = ()
    pronounce: Annotated[dict[str, str], Field(description="How made-up names sound, in ARPAbet.")] = {}

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
