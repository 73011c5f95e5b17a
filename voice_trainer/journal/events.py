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

from pydantic import Field, TypeAdapter, model_validator

from voice_trainer.drills.model import Level
from voice_trainer.flight.tolerances import ToleranceSetName
from voice_trainer.journal.hearing import Frozen, Hearing
from voice_trainer.journal.keep import Keep
from voice_trainer.journal.personal import Profile
from voice_trainer.journal.thinking import LONGEST_THINKING, SHORTEST_THINKING, THINKING_SECONDS
from voice_trainer.journal.verdicts import Verdict
from voice_trainer.phraseology.orders import FROM_THE_FIX
from voice_trainer.phraseology.trainer_name import TRAINER_NAME

JOURNAL_FORMAT = 1
"""Raised when a reader of the older format could misread a newer journal."""

SLOWEST_PACE, FASTEST_PACE = 0.6, 1.6
"""Of the trainer's usual rate of speech: slower than this nobody wants to wait, faster nobody can follow."""


def at(seconds: float) -> float:
    """A moment of the session clock as it goes into a record: to the millisecond."""
    return round(seconds, 3)


class Settings(Frozen):
    """What a session was run with, as far as the grade may depend on it."""

    seed: int = 0
    listening: Literal["half-duplex", "headset"] = "half-duplex"
    input: str = "typed"
    output: str = "none"
    mode: Literal["stop and correct", "fly through"] = "stop and correct"
    """What comes of a wrong or missed call: everything stands still until it is put right, or nothing is said."""
    assist: bool = False
    """Whether the instructor does what a missed call should have done, when flying through."""
    steps_in: bool = False
    """Whether the instructor puts the aeroplane back where it leaves an altitude or the area of its procedure."""
    tolerances: ToleranceSetName = "house"
    """By which published set a flight is graded."""
    level: Level = "prompted"
    pace: Annotated[float, Field(ge=SLOWEST_PACE, le=FASTEST_PACE)] = 1.0
    """How fast the trainer speaks, of its usual rate."""
    trainer_name: str = TRAINER_NAME
    """What the trainer is called, so that it knows what is said to it."""
    drills: dict[str, str] = {}
    """The spoken names of drills that may be started by voice, and the drills' own."""
    most_asks: Annotated[int, Field(ge=0, le=5)] = 2
    """How often an unclear utterance is asked for again."""
    thinking_seconds: Annotated[float, Field(ge=SHORTEST_THINKING, le=LONGEST_THINKING)] = THINKING_SECONDS
    """How long a student may pause inside a call: what may go on is not over before that, and no wrong value is held
    against anybody sooner."""

    @model_validator(mode="before")
    @classmethod
    def _of_an_older_journal(cls, data: Any) -> Any:
        """Once the instructor put the aeroplane right by itself; the grade never depended on it."""
        if isinstance(data, dict) and "corrections" in data:
            return {key: value for key, value in data.items() if key != "corrections"}
        return data


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
    student: str = ""
    """Whose session it is, where that was said."""
    keeps_sound: Keep = "none"
    """What of its sound was to be kept."""
    recording: str = ""
    """Where the whole sound was recorded to, because that was asked for."""


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


class SpeechDoubted(Fact):
    """What is being said is no call as far as it was heard: the trainer need not wait for it."""

    event: Literal["speech doubted"] = "speech doubted"


class Heard(Fact):
    """What the recogniser made of the utterance that ended last.

    `grown`: it takes the place of the hearing before it, whose speech went on after a pause. `open_ended`: more words
    may belong to its last call, so the trainer holds its tongue for the thinking pause.
    """

    event: Literal["heard"] = "heard"
    hearing: Hearing
    grown: bool = False
    open_ended: bool = False


class ListeningStopped(Fact):
    """The trainer became deaf, because it speaks into the room that it listens to."""

    event: Literal["listening stopped"] = "listening stopped"


class ListeningStarted(Fact):
    """The trainer listens again."""

    event: Literal["listening started"] = "listening started"


ASLEEP = "asleep"
DEVICE_LOST = "device lost"
"""Reasons of pauses that nobody asked for."""


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


class PaceChanged(Fact):
    """The trainer speaks slower or faster from now on, by this much of its usual rate."""

    event: Literal["pace changed"] = "pace changed"
    pace: float


class LevelChanged(Fact):
    """Another level holds for the steps that begin from now on."""

    event: Literal["level changed"] = "level changed"
    level: Level


class Skipped(Fact):
    """The student goes on without the rest of a step's calls."""

    event: Literal["skipped"] = "skipped"
    step: str


class Disputed(Fact):
    """The student says that a call was said, whatever the trainer made of it."""

    event: Literal["disputed"] = "disputed"
    step: str
    call: str


class Jumped(Fact):
    """The flight goes on `seconds` later; what happened on the way follows."""

    event: Literal["jumped"] = "jumped"
    seconds: float


class WentBack(Fact):
    """Flight and flows are again as they were just before a step began; it begins anew."""

    event: Literal["went back"] = "went back"
    step: str


class CorrectionBegan(Fact):
    """Everything stands still until these calls of a step are put right."""

    event: Literal["correction began"] = "correction began"
    step: str
    calls: tuple[str, ...]


class CorrectionEnded(Fact):
    """It goes on: the student has put right what was wrong, or else the instructor has."""

    event: Literal["correction ended"] = "correction ended"
    step: str
    by: Literal["student", "instructor"]


class Ordered(Fact):
    """The student asked the trainer for something by key; in words it would be a `ToTrainer`."""

    event: Literal["ordered"] = "ordered"
    order: str


class Fault(Fact):
    """Something came that can't come now: a fault of the program. The floor was reset, and the session went on."""

    event: Literal["fault"] = "fault"
    what: str


class Ended(Fact):
    """The session is over."""

    event: Literal["ended"] = "ended"
    reason: str


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


class Withdrawn(Decision):
    """The student took a call back ('disregard'): it is owed again."""

    event: Literal["withdrawn"] = "withdrawn"
    step: str
    call: str
    said: str


class AskAgain(Decision):
    """What was said could not be made out, and is worth asking for again.

    `wording` is how the call goes, without its values, where own words came near to it.
    """

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


class AskForRest(Decision):
    """The student has fallen silent with calls still owed: the closing question, which names none of them."""

    event: Literal["ask for rest"] = "ask for rest"
    step: str
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
    """Something said to the trainer itself: freeze, continue, say again, skip, end.

    `step` and `call` are those that an 'i said' is about, empty where there is nothing to dispute.
    """

    event: Literal["to trainer"] = "to trainer"
    order: str
    step: str = ""
    call: str = ""


class PutRight(Decision):
    """A call for which everything stands still was said, and rightly."""

    event: Literal["put right"] = "put right"
    step: str
    call: str
    said: str
    slots: dict[str, str]


AnyFact = (
    StepBegan
    | CueStarted
    | CueEnded
    | SpeechStarted
    | SpeechDropped
    | SpeechEnded
    | SpeechDoubted
    | Heard
    | ListeningStopped
    | ListeningStarted
    | Paused
    | Resumed
    | Flown
    | Position
    | Commanded
    | SamplesLost
    | PaceChanged
    | LevelChanged
    | Skipped
    | Disputed
    | Jumped
    | WentBack
    | CorrectionBegan
    | CorrectionEnded
    | Ordered
    | Fault
    | Ended
)
AnyDecision = (
    Accepted
    | Withdrawn
    | AskAgain
    | AskFor
    | AskForRest
    | Settled
    | FlowClosed
    | Critical
    | Extra
    | ToTrainer
    | PutRight
)
AnyRecord = Annotated[Header | AnyFact | AnyDecision, Field(discriminator="event")]

_RECORD: TypeAdapter[Header | AnyFact | AnyDecision] = TypeAdapter(AnyRecord)


def to_line(record: Header | AnyFact | AnyDecision) -> str:
    """One line of a journal, without its line end."""
    return record.model_dump_json()


def from_line(line: str | bytes) -> Header | AnyFact | AnyDecision:
    """The record of one line. Raises ValueError (pydantic's) when the line is not one."""
    return _RECORD.validate_json(line)


def is_broken_off(reason: str) -> bool:
    """Whether a session that `Ended` so was broken off: what was not reached is not missed."""
    return reason == DEVICE_LOST or is_by_the_student(reason)


def is_by_the_student(reason: str) -> bool:
    """Whether it was the student who broke it off."""
    return reason in ("by the student", "again", FROM_THE_FIX) or reason.startswith("start ")


def is_decision(record: object) -> bool:
    """Whether `record` is a decision (computed) rather than a fact (happened)."""
    return isinstance(record, Decision)
