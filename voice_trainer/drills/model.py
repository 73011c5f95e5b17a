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

    opens: str | None = None
    within_seconds: Annotated[float, Field(gt=0, le=600)] = 8.0
    closes: str | None = None

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

    `within` says by how much a value may be off that has to be worked out in the head, by its type: degrees of a
    heading, course, radial or bearing, seconds of a duration, feet, knots or miles of the others. `given` are values
    that what it does needs, and that are not said.
    """

    call: Name
    say: Text
    need: Literal["required", "optional", "forbidden"] = "required"
    window: Window = Window()
    does: Verb | None = None
    given: dict[str, str] = {}
    within: Mapping[MentalType, Annotated[float, Field(gt=0, le=500)]] = {}
    ask: str | None = None
    because: str | None = None


class Flow(Part):
    """Calls that belong together, in a set order (`strict`) or in any.

    `give_up_seconds` is how long, past the last window, the trainer goes on listening before what is not said
    is `missed`. With `asks`, what is left out of an otherwise finished flow is asked for once, as a controller
    does with a readback. A `closing_question` ('Anything else?') is asked once instead, when the student has begun,
    has fallen silent, and owes calls still: it names none of them. What is given only then is `incomplete`.
    """

    name: str = "calls"
    order: Literal["strict", "any"] = "strict"
    asks: bool = False
    closing_question: Text | None = None
    give_up_seconds: Annotated[float, Field(gt=0, le=600)] = 6.0
    calls: Annotated[tuple[Call, ...], Field(min_length=1, max_length=40)]

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

    speaker: Speaker
    say: Text
    urgent: bool = False
    noticed: bool | None = None

    def is_silent(self, level: Level) -> bool:
        """Whether at this level the cue is not spoken until it is asked for. An urgent one always is."""
        noticed = self.speaker == "aeroplane" if self.noticed is None else self.noticed
        return level == "cold" and noticed and not self.urgent


class Step(Part):
    """A moment of the drill: its condition, then its cue, then the calls it expects.

    `lead_in` says what a student knows when it begins, for where it is practised by itself.
    """

    step: Name
    when: str = "settled"
    after_seconds: Seconds = 0.0
    lead_in: Text | None = None
    cue: Cue | None = None
    flow: Flow | None = None

    @field_validator("when")
    @classmethod
    def _known_condition(cls, value: str) -> str:
        return check_condition(value)

    @model_validator(mode="after")
    def _not_empty(self) -> Self:
        if self.cue is None and self.flow is None:
            raise ValueError("a step needs a cue, a flow, or both")
        return self


class Station(Part):
    """The navaid that a flown drill is about."""

    ident: Annotated[str, Field(pattern=r"^[A-Z]{2,3}$")]
    name: str
    frequency: str

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

    ident: Ident
    name: Annotated[str, Field(pattern=r"^[A-Za-z']+( [A-Za-z']+){0,3}$")]
    kind: NavaidKind = "vor"
    frequency: str | None = None
    east_nm: Annotated[float, Field(ge=-100, le=100)] = 0.0
    north_nm: Annotated[float, Field(ge=-100, le=100)] = 0.0
    course_degrees: Degrees | None = None
    threshold_distance_nm: Annotated[float, Field(gt=0, le=5)] | None = None
    glidepath_degrees: Annotated[float, Field(ge=2, le=6)] | None = None
    threshold_elevation_feet: Annotated[float, Field(ge=-1000, le=15000)] | None = None
    full_scale_nm: Annotated[float, Field(gt=0, le=10)] = 1.0

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

    segment: Name
    begins: str
    lowest_altitude_feet: Annotated[float, Field(ge=0, le=45000)] | None = None
    highest_altitude_feet: Annotated[float, Field(ge=0, le=45000)] | None = None
    fastest_knots: Annotated[float, Field(gt=30, le=500)] | None = None
    course_degrees: Degrees | None = None
    navaid: Ident | None = None
    is_minimums: bool = False

    @field_validator("begins")
    @classmethod
    def _known_condition(cls, value: str) -> str:
        return check_condition(value)


class Area(Part):
    """Where a course reversal has to stay: within `limit_nm` of a navaid. Simpler than a real protected area.

    It holds in the `segments` that are named, in all where none is.
    """

    navaid: Ident
    limit_nm: Annotated[float, Field(gt=0, le=60)]
    segments: tuple[Name, ...] = ()


class AeroplaneStart(Part):
    """Where a flown drill begins. Directions are magnetic, the wind is where it comes from.

    Its place is given from the navaid `tuned`, which is the drill's station where nothing is said. With `direct_to` it
    flies straight to that navaid, whatever the wind, until it is told something else.
    """

    profile: str = "turboprop"
    tuned: Ident | None = None
    direct_to: Ident | None = None
    gear: Literal["up", "down"] = "up"
    flaps: str = "up"
    distance_nm: Annotated[float, Field(gt=0, le=60)]
    radial_degrees: Annotated[float, Field(ge=0.5, le=360)]
    heading_degrees: Annotated[float, Field(ge=0.5, le=360)]
    course_degrees: Annotated[float, Field(ge=0.5, le=360)]
    altitude_feet: Annotated[float, Field(ge=0, le=45000)]
    airspeed_knots: Annotated[float, Field(gt=30, le=500)]
    wind_from_degrees: Annotated[float, Field(ge=0, le=360)] = 360.0
    wind_knots: Annotated[float, Field(ge=0, le=150)] = 0.0


Synonyms = dict[str, tuple[str, ...]]
"""A word or several to other wordings of the same meaning."""


class House(Part):
    """How one school or unit speaks: what its drills have where they don't say otherwise."""

    house: Name
    region: Region | None = None
    wording: Wording | None = None
    without_callsign: WithoutCallsign | None = None
    synonyms: Synonyms = {}


class Drill(Part):
    """One practice unit.

    `wording` 'verbatim' holds memory items to their words: no synonyms, no other inflection. `without_callsign`
    says what a call comes to that lacks nothing but its callsign; left out, such words are not that call. The
    first call that holds a callsign is first contact, unless one is `in_contact` before the drill begins; after it
    a short form will do, `callsign_abbreviated` or the region's. `spoken_name` is what it is started by, by voice,
    where its own name reads badly. `variables` is what was drawn for this drill and is in its texts already; in a
    file it says from what they are drawn. The drill of a pack is called PACK/NAME,
    in its file only NAME.
    """

    drill: Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,60}(/[a-z0-9][a-z0-9-]{0,60})?$")]
    spoken_name: SpokenName | None = None
    title: Text
    kind: DrillKind
    difficulty: Difficulty | None = None
    trains: Text
    region: Region = "faa"
    minutes: Annotated[float, Field(gt=0, le=120)] = 2.0
    sources: tuple[str, ...] = ()
    callsign: str | None = None
    callsign_abbreviated: str | None = None
    in_contact: bool = False
    wording: Wording = "meaning"
    without_callsign: WithoutCallsign | None = None
    fixes: Annotated[tuple[str, ...], Field(max_length=200)] = ()
    pronounce: dict[str, str] = {}
    synonyms: Synonyms = {}
    station: Station | None = None
    navaids: Annotated[tuple[Navaid, ...], Field(max_length=12)] = ()
    aeroplane: AeroplaneStart | None = None
    segments: Annotated[tuple[Segment, ...], Field(max_length=40)] = ()
    area: Area | None = None
    limit_seconds: Annotated[float, Field(gt=0, le=7200)] = 600.0
    variables: dict[str, str] = {}
    steps: Annotated[tuple[Step, ...], Field(min_length=1, max_length=200)]

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
        return next(step for step in self.steps if step.step == name)

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
