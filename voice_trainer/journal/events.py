"""Everything that can happen in a session, as frozen records, and what the grader decided about it.

A journal is a `Header`, then these records in the order in which they happened. *Facts* are what reached the
session from outside, or what the session did; *decisions* are what the matcher made of the facts. Decisions
are kept so that a journal can be read by a person, and so that a replay can be checked against them: the
grade itself is always computed again, from the facts alone.

Times are seconds of the session clock (the microphone's sample count), rounded to milliseconds by `at` so that
a record is the same before and after it was written.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, TypeAdapter

from voice_trainer.journal.hearing import Frozen, Hearing
from voice_trainer.journal.personal import Profile

JOURNAL_FORMAT = 1
"""Raised when a reader of the older format could misread a newer journal."""


def at(seconds: float) -> float:
    """A moment of the session clock as it goes into a record: to the millisecond."""
    return round(seconds, 3)


class Settings(Frozen):
    """What a session was run with, as far as the grade may depend on it."""

    seed: int = 0
    listening: Literal["half-duplex", "headset"] = "half-duplex"
    input: str = "typed"
    output: str = "none"
    corrections: Literal["instructor", "none"] = "instructor"
    """Who puts the aeroplane right after a missed or wrong call: the instructor, or nobody."""
    most_asks: Annotated[int, Field(ge=0, le=5)] = 1
    """How often an unclear utterance is asked for again."""


class Header(Frozen):
    """The first line of a journal: all that is needed to read the rest without anything else."""

    event: Literal["header"] = "header"
    journal_format: int = JOURNAL_FORMAT
    program: str
    session: str
    started_utc: str
    drill: dict[str, Any]
    settings: Settings
    engine: str = "none"
    model_hash: str = ""
    voice: str = "none"
    profile: Profile | None = None
    """The personal profile that was in force, with all its values."""


class Fact(Frozen):
    """Base of what happened, at `at_seconds` of the session clock."""

    at_seconds: float


class StepBegan(Fact):
    """A step's condition came true."""

    event: Literal["step began"] = "step began"
    step: str


class CueStarted(Fact):
    """A cue (or a question, or a correction by the instructor) began to sound."""

    event: Literal["cue started"] = "cue started"
    cue: str
    speaker: str
    text: str


class CueEnded(Fact):
    """A cue fell silent; `complete` is False when it was cut short."""

    event: Literal["cue ended"] = "cue ended"
    cue: str
    complete: bool = True


class SpeechStarted(Fact):
    """The student was found to speak, and began to at `onset_seconds`, a little before."""

    event: Literal["speech started"] = "speech started"
    onset_seconds: float


class SpeechDropped(Fact):
    """What seemed to be speech was too short to be any."""

    event: Literal["speech dropped"] = "speech dropped"


class SpeechEnded(Fact):
    """The student fell silent; the recogniser is at work."""

    event: Literal["speech ended"] = "speech ended"
    start_seconds: float
    end_seconds: float


class Heard(Fact):
    """What the recogniser made of the utterance that ended last."""

    event: Literal["heard"] = "heard"
    hearing: Hearing


class ListeningStopped(Fact):
    """The trainer became deaf, because it speaks into the room that it listens to."""

    event: Literal["listening stopped"] = "listening stopped"


class ListeningStarted(Fact):
    """The trainer listens again."""

    event: Literal["listening started"] = "listening started"


class Paused(Fact):
    """The session stands still: aeroplane, clock and windows."""

    event: Literal["paused"] = "paused"
    reason: str


class Resumed(Fact):
    """The session goes on."""

    event: Literal["resumed"] = "resumed"


class Flown(Fact):
    """An event of the flight: a station crossed, wings level, a clock reading."""

    event: Literal["flown"] = "flown"
    name: str
    values: dict[str, str] = {}


class Position(Fact):
    """Where the aeroplane is, once a second, for the debrief's track."""

    event: Literal["position"] = "position"
    east_nm: float
    north_nm: float
    altitude_feet: float
    heading_degrees: float
    airspeed_knots: float


class Commanded(Fact):
    """The aeroplane was told to do something, by the student's call or by the instructor."""

    event: Literal["commanded"] = "commanded"
    verb: str
    slots: dict[str, str]
    by: Literal["student", "instructor"]


class SamplesLost(Fact):
    """The microphone lost samples; they count as silence."""

    event: Literal["samples lost"] = "samples lost"
    samples: int


class Ended(Fact):
    """The session is over."""

    event: Literal["ended"] = "ended"
    reason: str


Verdict = Literal[
    "correct", "late", "early", "out of order", "wrong value", "incomplete", "missed", "unclear", "disputed"
]


class Decision(Frozen):
    """Base of what the matcher decided; `at_seconds` is the moment that the decision rests on."""

    at_seconds: float


class Accepted(Decision):
    """A call was recognised as the one that the student owes; `slots` are the values that were said."""

    event: Literal["accepted"] = "accepted"
    step: str
    call: str
    said: str
    slots: dict[str, str]
    onset_seconds: float
    corrects: bool = False


class AskAgain(Decision):
    """What was said could not be made out, and is worth asking for again."""

    event: Literal["ask again"] = "ask again"
    step: str
    reason: str
    wording: str | None = None


class AskFor(Decision):
    """An item of a readback was left out, and is asked for."""

    event: Literal["ask for"] = "ask for"
    step: str
    call: str
    text: str


class Settled(Decision):
    """The verdict on one call; a later one on the same call replaces it (a correction, a dispute)."""

    event: Literal["settled"] = "settled"
    step: str
    call: str
    need: str
    verdict: Verdict
    expected: str
    said: str = ""
    onset_seconds: float | None = None
    late_seconds: float | None = None
    reason: str
    remarks: tuple[str, ...] = ()
    corrected: bool = False


class FlowClosed(Decision):
    """Every call of a step's flow is settled. `order` is the order in which its calls were said."""

    event: Literal["flow closed"] = "flow closed"
    step: str
    strict: bool
    order: tuple[str, ...]


class Critical(Decision):
    """A forbidden call was made: reported apart from the score."""

    event: Literal["critical"] = "critical"
    step: str
    call: str
    said: str
    reason: str


class Extra(Decision):
    """Speech that belongs to no call; it costs nothing."""

    event: Literal["extra"] = "extra"
    said: str
    seconds: float
    note: str = ""


class ToTrainer(Decision):
    """Something said to the trainer itself: freeze, continue, say again, skip, end."""

    event: Literal["to trainer"] = "to trainer"
    order: str


AnyFact = (
    StepBegan
    | CueStarted
    | CueEnded
    | SpeechStarted
    | SpeechDropped
    | SpeechEnded
    | Heard
    | ListeningStopped
    | ListeningStarted
    | Paused
    | Resumed
    | Flown
    | Position
    | Commanded
    | SamplesLost
    | Ended
)
AnyDecision = Accepted | AskAgain | AskFor | Settled | FlowClosed | Critical | Extra | ToTrainer
AnyRecord = Annotated[Header | AnyFact | AnyDecision, Field(discriminator="event")]

_RECORD: TypeAdapter[Header | AnyFact | AnyDecision] = TypeAdapter(AnyRecord)


def to_line(record: Header | AnyFact | AnyDecision) -> str:
    """One line of a journal, without its line end."""
    return record.model_dump_json()


def from_line(line: str | bytes) -> Header | AnyFact | AnyDecision:
    """The record of one line. Raises ValueError (pydantic's) when the line is not one."""
    return _RECORD.validate_json(line)


def is_decision(record: object) -> bool:
    """Whether `record` is a decision (computed) rather than a fact (happened)."""
    return isinstance(record, Decision)
