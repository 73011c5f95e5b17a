"""What the matcher remembers between two events: frozen, so that a replay starts from the same thing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from voice_trainer.drills.model import Call, Drill, Flow, Level
from voice_trainer.grading.listening_clock import ListeningClock
from voice_trainer.grading.tolerance import is_near_enough, remark_on
from voice_trainer.journal.events import Settings, Settled
from voice_trainer.phraseology.pattern import Difference, Pattern


@dataclass(frozen=True, slots=True)
class Said:
    """How a call was said: its words and values, and when, on both clocks."""

    text: str
    slots: dict[str, str]
    onset_seconds: float
    onset_listening: float
    base_listening: float | None
    place_in_time: int
    early: bool
    asked_for: bool
    remarks: tuple[str, ...] = ()
    corrected: bool = False


@dataclass(frozen=True, slots=True)
class Attempt:
    """The first try at a call that had to be asked for again: the repetition is graded by its onset."""

    onset_seconds: float
    onset_listening: float
    base_listening: float | None


@dataclass(frozen=True, slots=True)
class CallState:
    """One call that the student owes, and what became of it so far.

    `asked_for`: it was left out of a readback and the trainer has asked for it. `unclear`: how often
    something that may have been this call could not be made out; `in_part`: how often only a part of it was said, and
    it was asked for in its words. `withdrawn`: it was said, and taken back.
    `stopped_for`: everything stood still for it, so its verdict stays; `remarks` say what came of that.
    `window_factor`: how much longer or shorter its window is at the level at which its step began. `answer` is the
    bare answer that will do for it.
    """

    call: Call
    pattern: Pattern
    answer: Pattern | None = None
    said: Said | None = None
    asked_for: bool = False
    unclear: int = 0
    in_part: int = 0
    withdrawn: bool = False
    skipped: bool = False
    disputed: bool = False
    stopped_for: bool = False
    remarks: tuple[str, ...] = ()
    window_factor: float = 1.0

    @property
    def differences(self) -> tuple[Difference, ...]:
        """Where the values that were said are not the expected ones."""
        return self.differences_from(self.said.slots) if self.said else ()

    def differences_from(self, slots: Mapping[str, str]) -> tuple[Difference, ...]:
        """Where other values are not the expected ones, nor as near as the call allows."""
        found = self.pattern.differences(slots)
        return tuple(each for each in found if not is_near_enough(each, self.call.within))

    def remarks_on(self, slots: Mapping[str, str]) -> tuple[str, ...]:
        """The exact values where those that were said are near enough."""
        found = self.pattern.differences(slots)
        return tuple(remark_on(each) for each in found if is_near_enough(each, self.call.within))

    @property
    def asked_again(self) -> int:
        """How often it was asked for again, or would have been."""
        return self.unclear + self.in_part

    @property
    def owed(self) -> bool:
        """Required, and not said yet."""
        return self.said is None and self.call.need == "required" and not self.disputed

    @property
    def wrong(self) -> bool:
        """Said with a wrong value, which the student may still correct."""
        return bool(self.differences) and not self.stopped_for and not self.disputed


@dataclass(frozen=True, slots=True)
class FlowState:
    """The calls of one step.

    `base_listening` is the moment from which the next call is timed: the end of the cue, of the call before,
    or of a question; None until the cue has ended. `first_attempt` is set while something is asked for again.
    `lost_seconds`: how much sound was lost since then, or since it was asked for again. `asked`: the trainer has begun
    to ask for it, with the step's cue or a question.
    """

    step: str
    flow: Flow
    calls: tuple[CallState, ...]
    begun: bool = False
    closed: bool = False
    base_listening: float | None = None
    answered_listening: float = 0.0
    first_attempt: Attempt | None = None
    items_asked_for: bool = False
    lost_seconds: float = 0.0
    asked: bool = False

    @property
    def open(self) -> bool:
        """Begun and not closed."""
        return self.begun and not self.closed

    @property
    def finished(self) -> bool:
        """Whether all required calls have been said, and rightly."""
        return not any(call.owed or call.wrong for call in self.calls)

    @property
    def due(self) -> CallState | None:
        """The first call that is owed."""
        return next((call for call in self.calls if call.owed), None)

    def takes_answer(self, call: CallState) -> bool:
        """Whether the bare answer of one of its calls is that call now: due and asked for, or to be put right."""
        return self.open and self.asked and call.answer is not None and (call is self.due or call.wrong)

    def with_call(self, index: int, call: CallState) -> FlowState:
        """This flow with its call number `index` replaced."""
        return replace(self, calls=(*self.calls[:index], call, *self.calls[index + 1 :]))


@dataclass(frozen=True, slots=True)
class Before:
    """What a hearing changed, as it was before: the flows by number. `start_seconds` is where the hearing began."""

    start_seconds: float
    flows: tuple[tuple[int, FlowState], ...]
    correcting: bool


@dataclass(frozen=True, slots=True)
class MatchState:
    """Everything the matcher knows.

    `speech_onsets` are the beginnings of the utterances that are not understood yet, because the student still
    speaks or the recogniser is at work: nothing after the first of them can be judged. `events` maps each event
    of the flight to the listening second at which it happened first, and `calls_said` counts accepted calls, to
    order them in time. `correcting`: the last utterance ended with the word 'correction'. `level` is the one that
    holds for the steps that begin now. `verdicts` are the last ones on each call, the latest last. `events_before`
    says of each step that began how many events had happened by then. `stopped_for` are the calls that everything
    stands still for, by step and name.
    """

    drill: Drill
    settings: Settings
    flows: tuple[FlowState, ...]
    clock: ListeningClock = field(default_factory=ListeningClock)
    speech_onsets: tuple[float, ...] = ()
    events: tuple[tuple[str, float], ...] = ()
    calls_said: int = 0
    correcting: bool = False
    ended: bool = False
    level: Level = "prompted"
    verdicts: tuple[Settled, ...] = ()
    events_before: tuple[tuple[str, int], ...] = ()
    stopped_for: tuple[tuple[str, str], ...] = ()
    before_hearing: Before | None = None
    """What the last hearing changed: it may turn out to be the beginning of something else."""

    def with_flow(self, index: int, flow: FlowState) -> MatchState:
        """This state with flow number `index` replaced."""
        return replace(self, flows=(*self.flows[:index], flow, *self.flows[index + 1 :]))

    def updated(self, step: str, change: Callable[[FlowState], FlowState]) -> MatchState:
        """This state with the flow of `step`, if it has one, put through `change`."""
        return replace(self, flows=tuple(change(f) if f.step == step else f for f in self.flows))

    def flow_of(self, step: str) -> FlowState | None:
        """The flow of a step, if it has one."""
        return next((flow for flow in self.flows if flow.step == step), None)

    def with_calls(
        self, calls: Iterable[tuple[str, str]], change: Callable[[CallState], CallState]
    ) -> MatchState:
        """This state with some calls, by step and name, put through `change`."""
        wanted = frozenset(calls)
        return replace(
            self,
            flows=tuple(
                replace(
                    flow,
                    calls=tuple(change(c) if (flow.step, c.call.call) in wanted else c for c in flow.calls),
                )
                for flow in self.flows
            ),
        )

    def open_flows(self) -> Iterator[tuple[int, FlowState]]:
        """The flows that are open, with their numbers, in the order of the drill."""
        return ((i, flow) for i, flow in enumerate(self.flows) if flow.open)


def expect(drill: Drill, settings: Settings) -> MatchState:
    """The state before anything has happened. Raises PatternError for a call that can't be compiled."""
    flows = tuple(
        FlowState(
            step.step,
            step.flow,
            tuple(
                CallState(call, drill.pattern(call), drill.answer_pattern(call)) for call in step.flow.calls
            ),
        )
        for step in drill.steps
        if step.flow is not None
    )
    return MatchState(drill, settings, flows, level=settings.level)
