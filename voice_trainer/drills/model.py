"""What a drill is: cues, calls, flows and windows.

A drill is a list of steps. A step begins when its condition comes true (the drill starts, the step before it
is settled, the aeroplane crosses the station), speaks its cue, and opens its flow: the calls that the student
owes. These classes are both what a drill file may contain (unknown keys are errors) and what a journal keeps
of it; both sides read them through `Drill.model_validate`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from voice_trainer.drills.conditions import check_condition
from voice_trainer.phraseology.callsign_rules import CallsignRules
from voice_trainer.phraseology.fixes import type_name as fixes_type
from voice_trainer.phraseology.pattern import Pattern, compile_pattern
from voice_trainer.phraseology.slots import Region, slot_type
from voice_trainer.phraseology.speaking import spoken_text

DrillKind = Literal["procedure", "radio", "checklist", "memory", "callouts", "brief", "reckoning"]
Speaker = Literal["instructor", "controller", "aeroplane"]
Verb = Literal[
    "turn", "altitude", "speed", "course", "clock", "track", "tune", "direct", "rate", "glidepath",
    "gear", "flaps", "bug", "minimums alert", "arc", "missed",
]  # fmt: skip
"""What the aeroplane does when a call is heard, with the values that were *said*, and those that are `given`."""

Level = Literal["read along", "prompted", "cold", "under load"]
"""How much the trainer helps: it says every call first; it says its cues; it leaves to the student what a student
should notice; it distracts as well, and gives less time."""

Difficulty = Literal["first", "second", "third"]
"""When in the course of training a drill comes: for who begins; with the basics known; many things at once."""

Wording = Literal["meaning", "verbatim"]
"""'verbatim': of memory items the wording counts, not only what is meant."""

WithoutCallsign = Literal["remark", "incomplete"]
"""What a call comes to from which only the callsign is missing."""

GENERIC = "Generic: use your own aircraft's handbook."
"""Memory items differ from type to type: ours are nobody's."""

MentalType = Literal[
    "heading",
    "course",
    "radial",
    "bearing",
    "duration",
    "altitude",
    "minimums",
    "height",
    "rate",
    "speed",
    "distance",
]
"""Types of values that are worked out in the head, so that a call may allow them to be a little off."""

Name = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9 -]{0,60}$")]
SpokenName = Annotated[str, Field(pattern=r"^[a-z']+( [a-z']+){0,5}$")]
Text = Annotated[str, Field(min_length=1, max_length=2000)]
Seconds = Annotated[float, Field(ge=0, le=3600)]


class Part(BaseModel):
    """Base of everything in a drill: immutable, strict about unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)


class Window(Part):
    """When a call is on time.

    It opens when its step begins, or at the event `opens` of the flight (which may come before the step or
    after it); said before that, the call is `early`. It closes `within_seconds` of listening time after the
    moment the student could begin (the end of the cue, or of the call before it in the flow), or at the event
    `closes`, whichever comes first; said after that, it is `late`.
    """

    opens: Annotated[
        str | None,
        Field(
            description="The event of the flight from which on the call is on time; said before it, "
            "the call is early. Left out: the beginning of the step."
        ),
    ] = None
    within_seconds: Annotated[
        float,
        Field(
            gt=0,
            le=600,
            description="So many seconds of listening time after the student could begin (the end of "
            "the cue, or of the call before it in the flow) the call is late.",
        ),
    ] = 8.0
    closes: Annotated[
        str | None,
        Field(
            description="The event of the flight at which it closes, if that comes before the seconds "
            "are over."
        ),
    ] = None

    @field_validator("opens", "closes")
    @classmethod
    def _known_condition(cls, value: str | None) -> str | None:
        return None if value is None else check_condition(value)

    @model_validator(mode="after")
    def _possible(self) -> Self:
        if self.opens is not None and self.opens == self.closes:
            raise ValueError(f"impossible window: it opens and closes at the same event, '{self.opens}'")
        return self


class Call(Part):
    """What the student is expected to say, as a pattern, and what it is for.

    `answers` is the bare answer that will do where the cue has named the item, as a pattern: 'on' for 'landing lights
    on'. It has the values of the call; words with an opposite may be missing, and are then those of the call.
    `within` says by how much a value may be off that has to be worked out in the head, by its type: degrees of a
    heading, course, radial or bearing, seconds of a duration, feet, knots or miles of the others. `given` are values
    that what it does needs, and that are not said.
    """

    call: Annotated[
        Name, Field(description="The name of the call, as the debrief tells it; no two in one step.")
    ]
    say: Annotated[Text, Field(description="The pattern of what is to be said.")]
    answers: Annotated[
        Text | None,
        Field(
            description="The pattern of a bare answer that will do where the cue names the item: 'on' to "
            "'Landing lights.' It counts while this call is the one that is due in its step."
        ),
    ] = None
    need: Annotated[
        Literal["required", "optional", "forbidden"],
        Field(description="Whether it has to be said, may be, or must not be."),
    ] = "required"
    window: Annotated[Window, Field(description="When it is on time.")] = Window()
    does: Annotated[
        Verb | None,
        Field(description="What the aeroplane does when it is said, with the values that were said."),
    ] = None
    given: Annotated[
        dict[str, str],
        Field(description='Values that what it does needs and that are not said, by type: {course: "153"}.'),
    ] = {}
    within: Annotated[
        Mapping[MentalType, Annotated[float, Field(gt=0, le=500)]],
        Field(
            description="By how much a value may be off that is worked out in the head, by its type: "
            "{heading: 2} is two degrees."
        ),
    ] = {}
    ask: Annotated[
        str | None, Field(description="What the trainer says to ask for this call, where the flow asks.")
    ] = None
    because: Annotated[
        str | None, Field(description="The rule or the arithmetic behind it; told when it goes wrong.")
    ] = None

    @model_validator(mode="after")
    def _answered_where_required(self) -> Self:
        if self.answers is not None and self.need != "required":
            raise ValueError(f"'answers' of a call that is {self.need}; only a required one is ever due")
        return self


class Flow(Part):
    """Calls that belong together, in a set order (`strict`) or in any.

    `give_up_seconds` is how long, past the last window, the trainer goes on listening before what is not said
    is `missed`. With `asks`, what is left out of an otherwise finished flow is asked for once, as a controller
    does with a readback. A `closing_question` ('Anything else?') is asked once instead, when the student has begun,
    has fallen silent, and owes calls still: it names none of them. What is given only then is `incomplete`.
    """

    name: Annotated[str, Field(description="What the flow is called in the debrief.")] = "calls"
    order: Annotated[Literal["strict", "any"], Field(description="In this order, or in any.")] = "strict"
    asks: Annotated[
        bool,
        Field(
            description="Whether what is left out of an otherwise finished flow is asked for once, as "
            "a controller does with a readback."
        ),
    ] = False
    closing_question: Annotated[
        Text | None,
        Field(
            description="Put once in place of asking, when the student has begun, has fallen silent "
            "and owes calls still; it names none of them."
        ),
    ] = None
    give_up_seconds: Annotated[
        float,
        Field(
            gt=0,
            le=600,
            description="How long, past the last window, the trainer listens before what is not said "
            "is missed.",
        ),
    ] = 6.0
    calls: Annotated[tuple[Call, ...], Field(min_length=1, max_length=40, description="The calls.")]

    @model_validator(mode="after")
    def _one_manner_of_asking(self) -> Self:
        if self.asks and self.closing_question is not None:
            raise ValueError(
                "a flow asks for each item by name (asks) or puts a closing_question that names none: give one of them"
            )
        return self


class Cue(Part):
    """What the trainer says. An `urgent` cue interrupts; any other waits for the student to finish.

    What a student should notice without being told is `noticed`: left out, it is what the aeroplane shows.
    """

    speaker: Annotated[
        Speaker,
        Field(
            description="Who speaks: the instructor, the controller (over the radio), or the aeroplane "
            "(what its panel would show)."
        ),
    ]
    say: Annotated[Text, Field(description="What is said; numbers stand as {type: value}.")]
    urgent: Annotated[bool, Field(description="Whether it interrupts the student; any other cue waits.")] = (
        False
    )
    noticed: Annotated[
        bool | None,
        Field(
            description="Whether a student should notice it without being told: then it is not spoken "
            "at the level cold. Left out: what the aeroplane says is."
        ),
    ] = None

    def is_silent(self, level: Level) -> bool:
        """Whether at this level the cue is not spoken until it is asked for. An urgent one always is."""
        noticed = self.speaker == "aeroplane" if self.noticed is None else self.noticed
        return level == "cold" and noticed and not self.urgent


class Step(Part):
    """A moment of the drill: its condition, then its cue, then the calls it expects.

    `lead_in` says what a student knows when it begins, for where it is practised by itself.
    """

    step: Annotated[Name, Field(description="The name of the step; no two in one drill.")]
    when: Annotated[
        str,
        Field(
            description="What it waits for: start (of the drill), settled (the step before it is "
            "done), or an event of the flight."
        ),
    ] = "settled"
    after_seconds: Annotated[Seconds, Field(description="So long after that it begins.")] = 0.0
    lead_in: Annotated[
        Text | None,
        Field(description="What a student knows when it begins; told where the step is practised by itself."),
    ] = None
    cue: Annotated[Cue | None, Field(description="What the trainer says.")] = None
    flow: Annotated[Flow | None, Field(description="The calls that the student owes then.")] = None

    @field_validator("when")
    @classmethod
    def _known_condition(cls, value: str) -> str:
        return check_condition(value)

    @model_validator(mode="after")
    def _not_empty(self) -> Self:
        if self.cue is None and self.flow is None:
            raise ValueError("a step needs a cue, a flow, or both")
        bare = [call.call for call in self.flow.calls if call.answers is not None] if self.flow else []
        if bare and self.cue is None:
            raise ValueError(
                f"'answers' of '{bare[0]}' in a step that asks for nothing; add a cue that names it"
            )
        return self


class Station(Part):
    """The navaid that a flown drill is about."""

    ident: Annotated[str, Field(pattern=r"^[A-Z]{2,3}$", description="Its ident, as in KLD.")]
    name: Annotated[str, Field(description="Its name, as it is spoken.")]
    frequency: Annotated[str, Field(description="Its frequency in megahertz, as in 114.3.")]

    @field_validator("frequency", mode="before")
    @classmethod
    def _legal(cls, value: object) -> str:
        return slot_type("frequency").canonical(str(value))


Ident = Annotated[str, Field(pattern=r"^[A-Z]{2,5}$")]
Degrees = Annotated[float, Field(gt=0, le=360)]
NavaidKind = Literal["vor", "vor/dme", "tacan", "localizer", "ils", "waypoint"]


class Navaid(Part):
    """A navaid or waypoint of a flown drill, on a flat earth whose directions are magnetic.

    A localizer and an ils have a `course_degrees`, their front course, and stand `threshold_distance_nm` beyond the
    runway's threshold; an ils has a glidepath, in degrees, that touches down at `threshold_elevation_feet` there. A
    waypoint has no frequency, and its needle is at full scale `full_scale_nm` off the course.
    """

    ident: Annotated[Ident, Field(description="Its ident, as in KLD.")]
    name: Annotated[
        str, Field(pattern=r"^[A-Za-z']+( [A-Za-z']+){0,3}$", description="Its name, as it is spoken.")
    ]
    kind: Annotated[NavaidKind, Field(description="What it is.")] = "vor"
    frequency: Annotated[
        str | None,
        Field(description="In megahertz, as in 114.3; a waypoint has none, every other navaid has one."),
    ] = None
    east_nm: Annotated[
        float, Field(ge=-100, le=100, description="How far east of the origin it stands, in nautical miles.")
    ] = 0.0
    north_nm: Annotated[
        float, Field(ge=-100, le=100, description="How far north of the origin it stands, in nautical miles.")
    ] = 0.0
    course_degrees: Annotated[
        Degrees | None, Field(description="The front course of a localizer or an ils, magnetic.")
    ] = None
    threshold_distance_nm: Annotated[
        Annotated[float, Field(gt=0, le=5)] | None,
        Field(description="How far beyond the runway's threshold the localizer stands."),
    ] = None
    glidepath_degrees: Annotated[
        Annotated[float, Field(ge=2, le=6)] | None, Field(description="The angle of an ils's glidepath.")
    ] = None
    threshold_elevation_feet: Annotated[
        Annotated[float, Field(ge=-1000, le=15000)] | None,
        Field(description="The elevation of the threshold, where an ils's glidepath touches down."),
    ] = None
    full_scale_nm: Annotated[
        float,
        Field(gt=0, le=10, description="Of a waypoint: how far off the course its needle is at full scale."),
    ] = 1.0

    @field_validator("frequency", mode="before")
    @classmethod
    def _legal(cls, value: object) -> str | None:
        return None if value is None else slot_type("frequency").canonical(str(value))

    @model_validator(mode="after")
    def _complete(self) -> Self:
        if (self.frequency is None) != (self.kind == "waypoint"):
            raise ValueError(
                f"{self.ident}: a waypoint has no frequency, and every other navaid has one; correct it"
            )
        if self.kind in ("localizer", "ils") and self.course_degrees is None:
            raise ValueError(f"{self.ident}: {self.kind} without a course; add course_degrees")
        glidepath = (self.glidepath_degrees, self.threshold_elevation_feet, self.threshold_distance_nm)
        if self.kind == "ils" and None in glidepath:
            raise ValueError(
                f"{self.ident}: an ils needs glidepath_degrees, threshold_elevation_feet and "
                "threshold_distance_nm; add them"
            )
        return self


class Segment(Part):
    """A stretch of a flown procedure with its limits.

    It begins with the first event that meets `begins` ('start' for the first one) after the one before it began, and
    ends where the next begins. `course_degrees` of `navaid` is to be kept once it has been joined. Where
    `is_minimums`, the lowest altitude is that of the approach's minimums.
    """

    segment: Annotated[Name, Field(description="The name of the segment.")]
    begins: Annotated[
        str,
        Field(
            description="The event with which it begins, start for the first; it ends where the next "
            "one begins."
        ),
    ]
    lowest_altitude_feet: Annotated[
        Annotated[float, Field(ge=0, le=45000)] | None,
        Field(description="The altitude that must not be left downwards."),
    ] = None
    highest_altitude_feet: Annotated[
        Annotated[float, Field(ge=0, le=45000)] | None,
        Field(description="The altitude that must not be left upwards."),
    ] = None
    fastest_knots: Annotated[
        Annotated[float, Field(gt=30, le=500)] | None, Field(description="The highest airspeed.")
    ] = None
    course_degrees: Annotated[
        Degrees | None, Field(description="The course to be kept once it has been joined, magnetic.")
    ] = None
    navaid: Annotated[Ident | None, Field(description="The ident of the navaid that gives that course.")] = (
        None
    )
    is_minimums: Annotated[
        bool, Field(description="Whether its lowest altitude is that of the approach's minimums.")
    ] = False

    @field_validator("begins")
    @classmethod
    def _known_condition(cls, value: str) -> str:
        return check_condition(value)


class Area(Part):
    """Where a course reversal has to stay: within `limit_nm` of a navaid. Simpler than a real protected area.

    It holds in the `segments` that are named, in all where none is.
    """

    navaid: Annotated[Ident, Field(description="The ident of the navaid in its middle.")]
    limit_nm: Annotated[float, Field(gt=0, le=60, description="How far from it one may be.")]
    segments: Annotated[
        tuple[Name, ...], Field(description="The segments in which it holds; all where none is named.")
    ] = ()


class AeroplaneStart(Part):
    """Where a flown drill begins. Directions are magnetic, the wind is where it comes from.

    Its place is given from the navaid `tuned`, which is the drill's station where nothing is said. With `direct_to` it
    flies straight to that navaid, whatever the wind, until it is told something else; with
    `tracked_course_degrees` it keeps that course.
    """

    profile: Annotated[str, Field(description="Which aeroplane: piston, turboprop or jet trainer.")] = (
        "turboprop"
    )
    tuned: Annotated[
        Ident | None,
        Field(
            description="The ident of the navaid that is tuned, from which its place is told; the "
            "station where nothing is said."
        ),
    ] = None
    direct_to: Annotated[
        Ident | None,
        Field(description="The ident of a navaid to which it flies until it is told something else."),
    ] = None
    tracked_course_degrees: Annotated[
        Annotated[int, Field(ge=1, le=360)] | None,
        Field(
            description="The course of the navaid that is tuned which it keeps until it is told something else."
        ),
    ] = None
    gear: Annotated[Literal["up", "down"], Field(description="Whether the gear is up or down.")] = "up"
    flaps: Annotated[
        str, Field(description="The flap setting: up, approach, landing or another of the {flap: …} values.")
    ] = "up"
    distance_nm: Annotated[float, Field(gt=0, le=60, description="How far from the navaid it is.")]
    radial_degrees: Annotated[float, Field(ge=0.5, le=360, description="On which radial of it.")]
    heading_degrees: Annotated[float, Field(ge=0.5, le=360, description="On what heading.")]
    course_degrees: Annotated[float, Field(ge=0.5, le=360, description="What course is set.")]
    altitude_feet: Annotated[float, Field(ge=0, le=45000, description="At what altitude.")]
    airspeed_knots: Annotated[float, Field(gt=30, le=500, description="At what airspeed.")]
    wind_from_degrees: Annotated[
        float, Field(ge=0, le=360, description="Where the wind comes from, magnetic.")
    ] = 360.0
    wind_knots: Annotated[float, Field(ge=0, le=150, description="How strong the wind is.")] = 0.0


Synonyms = dict[str, tuple[str, ...]]
"""A word or several to other wordings of the same meaning."""


class House(Part):
    """How one school or unit speaks: what its drills have where they don't say otherwise."""

    house: Annotated[Name, Field(description="Whose it is.")]
    region: Annotated[
        Region | None, Field(description="How numbers are spoken, and what remarks recommend.")
    ] = None
    wording: Annotated[
        Wording | None,
        Field(description="verbatim: in memory drills the wording counts, not only what is meant."),
    ] = None
    without_callsign: Annotated[
        WithoutCallsign | None, Field(description="What a call comes to that lacks nothing but its callsign.")
    ] = None
    synonyms: Annotated[Synonyms, Field(description="Other wordings, beside those of each drill.")] = {}


class Drill(Part):
    """One practice unit.

    `wording` 'verbatim' holds memory items to their words: no synonyms, no other inflection. `without_callsign`
    says what a call comes to that lacks nothing but its callsign; left out, such words are not that call. The
    first call that holds a callsign is first contact, unless one is `in_contact` before the drill begins; after it
    a short form will do, `callsign_abbreviated` or the region's. `spoken_name` is what it is started by, by voice,
    where its own name reads badly. `variables` is what was drawn for this drill and is in its texts already; in a
    file it says from what they are drawn. The drill of a pack is called PACK/NAME, in its file only NAME.
    """

    drill: Annotated[
        str,
        Field(
            pattern=r"^[a-z0-9][a-z0-9-]{0,60}(/[a-z0-9][a-z0-9-]{0,60})?$",
            description="The name of the drill, by which it is run and kept in the logbook.",
        ),
    ]
    spoken_name: Annotated[
        SpokenName | None,
        Field(description="What it is started by, by voice, where its own name reads badly."),
    ] = None
    title: Annotated[Text, Field(description="Its title, in a line.")]
    kind: Annotated[
        DrillKind,
        Field(description="What it is practice of. A memory drill begins by saying that it is generic."),
    ]
    difficulty: Annotated[
        Difficulty | None,
        Field(
            description="When in training it comes: for who begins, with the basics known, many things "
            "at once."
        ),
    ] = None
    trains: Annotated[Text, Field(description="What it trains, in a line.")]
    region: Annotated[Region, Field(description="How numbers are spoken, and what remarks recommend.")] = (
        "faa"
    )
    minutes: Annotated[float, Field(gt=0, le=120, description="How long it takes, about.")] = 2.0
    sources: Annotated[
        tuple[str, ...], Field(description="The published source of each rule in it, or 'common practice'.")
    ] = ()
    callsign: Annotated[str | None, Field(description="The student's callsign.")] = None
    callsign_abbreviated: Annotated[
        str | None,
        Field(description="The short form that will do after first contact; left out, the region's."),
    ] = None
    in_contact: Annotated[
        bool,
        Field(
            description="Whether first contact was made before the drill begins, so that the short "
            "form will do from its first call on."
        ),
    ] = False
    wording: Annotated[
        Wording, Field(description="verbatim: in a memory drill the wording counts, not only what is meant.")
    ] = "meaning"
    without_callsign: Annotated[
        WithoutCallsign | None,
        Field(
            description="What a call comes to that lacks nothing but its callsign: a remark, or "
            "incomplete (half the points). Left out: words without it are not that call."
        ),
    ] = None
    fixes: Annotated[
        tuple[str, ...], Field(max_length=200, description="The fixes that {fix: …} may name.")
    ] = ()
    pronounce: Annotated[
        dict[str, str],
        Field(description="How words sound that no dictionary has, in ARPAbet: {kelda: K EH L D AH}."),
    ] = {}
    synonyms: Annotated[
        Synonyms, Field(description="Other wordings of the same meaning: {turn: [turning, coming]}.")
    ] = {}
    station: Annotated[
        Station | None, Field(description="The VOR of a flown drill, at the origin; or give navaids.")
    ] = None
    navaids: Annotated[
        tuple[Navaid, ...], Field(max_length=12, description="The navaids and waypoints of a flown drill.")
    ] = ()
    aeroplane: Annotated[
        AeroplaneStart | None,
        Field(
            description="Where the aeroplane of a flown drill begins; without one there are no events "
            "of a flight, and no call does anything."
        ),
    ] = None
    segments: Annotated[
        tuple[Segment, ...],
        Field(max_length=40, description="The stretches of a flown procedure, with their limits."),
    ] = ()
    area: Annotated[Area | None, Field(description="Where the aeroplane has to stay.")] = None
    limit_seconds: Annotated[float, Field(gt=0, le=7200, description="After so long the drill ends.")] = 600.0
    variables: Annotated[
        dict[str, str],
        Field(
            description="Numbers and words that are new with every seed, by name: drawn, or computed "
            "from those above them."
        ),
    ] = {}
    steps: Annotated[tuple[Step, ...], Field(min_length=1, max_length=200, description="The steps.")]

    def pattern(self, call: Call) -> Pattern:
        """The compiled pattern of one of this drill's calls. Raises PatternError."""
        return compile_pattern(
            call.say,
            region=self.region,
            synonyms=self.synonyms,
            fixes=self.fixes,
            verbatim=self.verbatim,
            callsigns=self._callsigns(call),
        )

    def answer_pattern(self, call: Call) -> Pattern | None:
        """The compiled pattern of the bare answer that will do for a call, if one will. Raises PatternError."""
        if call.answers is None:
            return None
        return compile_pattern(
            call.answers,
            region=self.region,
            synonyms=self.synonyms,
            fixes=self.fixes,
            verbatim=self.verbatim,
            callsigns=self._callsigns(call),
        )

    @property
    def preamble(self) -> str | None:
        """What the instructor says before anything else; memory items are never those of the student's aircraft."""
        return GENERIC if self.kind == "memory" else None

    @property
    def verbatim(self) -> bool:
        """Whether the wording of this drill's calls counts."""
        return self.wording == "verbatim" and self.kind == "memory"

    def _callsigns(self, call: Call) -> CallsignRules:
        short = self.callsign_abbreviated
        declared = (self.callsign, short) if self.callsign is not None and short is not None else None
        unsaid: dict[WithoutCallsign | None, Literal["remarked", "owed"] | None]
        unsaid = {"remark": "remarked", "incomplete": "owed", None: None}
        return CallsignRules(self._after_first_contact(call), declared, unsaid[self.without_callsign])

    def _after_first_contact(self, call: Call) -> bool:
        """Whether a call before this one already holds a callsign. Equal calls of two steps are told apart."""
        if self.in_contact:
            return True
        calls = [each for step in self.steps if step.flow for each in step.flow.calls]
        first = next((each for each in calls if "{callsign" in each.say.replace(" ", "")), None)
        return first is not None and call is not first

    @field_validator("callsign", "callsign_abbreviated")
    @classmethod
    def _is_callsign(cls, value: str | None) -> str | None:
        return None if value is None else slot_type("callsign").canonical(value)

    @field_validator("fixes")
    @classmethod
    def _are_fixes(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        fixes_type(value)
        return value

    def spoken(self, cue: Cue) -> str:
        """The words of a cue, every number written out. Raises PatternError."""
        return spoken_text(cue.say, self.region)

    def step_named(self, name: str) -> Step:
        """The step of that name; raises KeyError."""
        step = next((step for step in self.steps if step.step == name), None)
        if step is None:
            raise KeyError(name)
        return step

    @property
    def conditions(self) -> frozenset[str]:
        """Every condition that some step or window waits for."""
        found = {step.when for step in self.steps}
        for step in self.steps:
            for call in step.flow.calls if step.flow else ():
                found |= {c for c in (call.window.opens, call.window.closes) if c is not None}
        return frozenset(found)

    @model_validator(mode="after")
    def _whole(self) -> Self:
        seen: set[str] = set()
        for step in self.steps:
            if step.step in seen:
                raise ValueError(f"two steps are called '{step.step}'")
            seen.add(step.step)
            calls: set[str] = set()
            for call in step.flow.calls if step.flow else ():
                if call.call in calls:
                    raise ValueError(f"step '{step.step}' has two calls named '{call.call}'")
                calls.add(call.call)
        flown = {"start", "settled"}
        if self.aeroplane is None and (waits := sorted(self.conditions - flown)):
            raise ValueError(f"waits for '{waits[0]}', but a drill without an aeroplane has no flight events")
        if self.aeroplane is None:
            for step, call in (
                (s, c) for s in self.steps for c in (s.flow.calls if s.flow else ()) if c.does
            ):
                raise ValueError(
                    f"step '{step.step}' has a call that does '{call.does}', but a drill without an aeroplane "
                    "flies nothing; delete the key, or give an aeroplane and a station"
                )
        if (self.aeroplane is None) != (self.station is None and not self.navaids):
            raise ValueError("aeroplane and station belong together: give both or neither")
        self._check_idents()
        return self

    def _check_idents(self) -> None:
        """Whether whatever is named by its ident is there."""
        known = [each.ident for each in self.navaids]
        if self.station is not None:
            known.append(self.station.ident)
        for ident in known:
            if known.count(ident) > 1:
                raise ValueError(f"two navaids are called '{ident}'; give each its own ident")
        tuned = self.aeroplane.tuned if self.aeroplane else None
        if self.aeroplane is not None and self.station is None and tuned is None:
            raise ValueError(
                "an aeroplane without a station needs to know from where it is placed; add tuned"
            )
        direct_to = self.aeroplane.direct_to if self.aeroplane else None
        named = [
            tuned,
            direct_to,
            *(each.navaid for each in self.segments),
            self.area.navaid if self.area else None,
        ]
        for name in named:
            if name is not None and name not in known:
                raise ValueError(
                    f"no navaid of this drill is called '{name}'; known: {', '.join(known) or 'none'}"
                )
