"""The sequencer: what happens goes in, what is to be written down and done comes out. Sans-I/O.

Theory of operation
-------------------
`receive` takes one fact (or a `Tick`, which carries only the time) and works through it in a set order:

1. the aeroplane flies up to the time of the fact; what happens on the way are facts of their own, and are
   taken in first;
2. the matcher takes the fact in, and decides;
3. decisions are acted upon: a call that was accepted is done by the aeroplane, what could not be made out is
   asked for again, what was left out is asked for, a flow that is closed settles its step;
4. steps whose condition has come true begin;
5. whoever waits for the floor gets it when it is free.

`Outcome.records` are to be written to the journal in their order, before the commands are carried out. The
clock that steps and flight run on is the session's, less its pauses.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from voice_trainer.drills.model import Call, Drill
from voice_trainer.grading.matcher import Tick, match, question_about
from voice_trainer.grading.state import MatchState, expect
from voice_trainer.journal.events import (
    Accepted,
    AnyDecision,
    AnyFact,
    AskAgain,
    AskFor,
    Commanded,
    CueEnded,
    Ended,
    Extra,
    FlowClosed,
    Flown,
    Paused,
    Position,
    Resumed,
    Settings,
    Settled,
    StepBegan,
    ToTrainer,
    at,
)
from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.sequencing.airborne import Airborne
from voice_trainer.sequencing.commands import Command, FallSilent, Finish, Sound, Speak, Tone
from voice_trainer.sequencing.floor import CueGiven, Floor, Student
from voice_trainer.sequencing.steps import StepRunner

LEAST_POSITION_INTERVAL_SECONDS = 1.0

SAY_AGAIN = "Say again."


def put_right(drill: Drill, call: Call) -> tuple[dict[str, str], str]:
    """What the instructor does in place of a call, as values, and says meanwhile.

    It turns the shorter way: the student's aeroplane may be anywhere by now.
    """
    pattern = drill.pattern(call)
    values = {key: value for key, value in pattern.expected.items() if key not in OPPOSITES}
    types = {slot.key: slot.type for slot in slots_of(pattern.node)}
    said = " ".join(
        word
        for key, value in values.items()
        for word in (types[key], *slot_type(types[key]).words(value, drill.region))
    )
    return values, f"Corrected: {said or f'{call.does} started'}."


@dataclass(slots=True)
class Outcome:
    """What came of one event: records for the journal, then commands."""

    records: list[AnyFact | AnyDecision] = field(default_factory=list)
    commands: list[Command] = field(default_factory=list)


class Sequencer:
    """Runs one drill. Feed it every fact once, in order of time, and a `Tick` whenever time has passed."""

    def __init__(self, drill: Drill, settings: Settings) -> None:
        """Raises PatternError for a drill whose calls or cues can't be compiled."""
        self.drill = drill
        self.settings = settings
        self.floor = Floor()
        self.state: MatchState = expect(drill, settings)
        self.airborne = Airborne.of(drill)
        self._steps = StepRunner(drill)
        self._waiting: deque[tuple[Speak, bool]] = deque()
        self._last_spoken: Speak | None = None
        self._paused_since: float | None = None
        self._paused_total = 0.0
        self._next_position = 0.0
        self._silencing = False
        self._over = False

    @property
    def paused(self) -> bool:
        """Whether the session stands still."""
        return self._paused_since is not None

    def running_seconds(self, session_seconds: float) -> float:
        """Session time less the pauses so far."""
        until = session_seconds if self._paused_since is None else self._paused_since
        return until - self._paused_total

    def receive(self, event: AnyFact | Tick) -> Outcome:
        """Take one event in. Raises IllegalEventError for one that can't happen now."""
        outcome = Outcome()
        if self._over:
            return outcome
        now = event.at_seconds
        self._fly(now, outcome)
        self._take(event, outcome)
        if isinstance(event, Ended):
            self._over = True
            return outcome
        if not self.paused:
            self._begin_steps(now, outcome)
        self._give_floor(outcome)
        self._finish_when_done(now, outcome)
        return outcome

    def _take(self, event: AnyFact | Tick, outcome: Outcome) -> None:
        """One fact into the floor, the journal and the matcher, and its decisions into deeds."""
        if not isinstance(event, Tick):
            self.floor = self.floor.after(event)
            outcome.records.append(event)
        match event:
            case Paused():
                self._paused_since = event.at_seconds if self._paused_since is None else self._paused_since
            case Resumed() if self._paused_since is not None:
                self._paused_total += event.at_seconds - self._paused_since
                self._paused_since = None
            case CueEnded(cue=cue):
                self._settle_step_without_flow(cue)
            case Flown(name=name):
                self._steps.note_flown(name)
            case _:
                pass
        self.state, decisions = match(self.state, event)
        outcome.records.extend(decisions)
        for decision in decisions:
            self._act(decision, event, outcome)

    def _act(self, decision: AnyDecision, event: AnyFact | Tick, outcome: Outcome) -> None:
        now = event.at_seconds
        match decision:
            case Accepted():
                self._sound("heard", outcome)
                call = self._call(decision.step, decision.call)
                self._command(call, decision.slots, "student", now, outcome)
            case AskAgain(step=step):
                self._sound("say again", outcome)
                self._ask(step, SAY_AGAIN)
            case AskFor(step=step, text=text):
                self._ask(step, text)
            case Settled(verdict="missed" | "wrong value") if not isinstance(event, Ended):
                self._put_right(decision, now, outcome)
            case FlowClosed(step=step):
                self._steps.note_settled(step)
            case ToTrainer(order=order):
                self._obey(order, now, outcome)
            case Extra(said="say again"):
                self._say_again()
            case _:
                pass

    def _sound(self, tone: Tone, outcome: Outcome) -> None:
        """A tone, but never into what the student says."""
        if self.floor.student is Student.SILENT:
            outcome.commands.append(Sound(tone))

    def _command(self, call: Call, slots: dict[str, str], by: str, now: float, outcome: Outcome) -> None:
        if self.airborne is None or call.does is None:
            return
        record = Commanded.model_validate(
            {"at_seconds": at(now), "verb": call.does, "slots": slots, "by": by}
        )
        if self.airborne.do(record.verb, record.slots, self.running_seconds(now)):
            outcome.records.append(record)

    def _put_right(self, settled: Settled, now: float, outcome: Outcome) -> None:
        """The instructor does what was left undone, so that the rest of the drill makes sense."""
        call = self._call(settled.step, settled.call)
        if self.airborne is None or call.does is None or self.settings.corrections == "none":
            return
        values, text = put_right(self.drill, call)
        self._command(call, values, "instructor", now, outcome)
        name = f"put right: {settled.step}, {settled.call}"
        self._waiting.append((Speak(name, "instructor", text), False))

    def _ask(self, step: str, text: str) -> None:
        cue = self.drill.step_named(step).cue
        speaker = cue.speaker if cue and text != SAY_AGAIN else "instructor"
        question = Speak(question_about(step), speaker, text)
        waiting = next((i for i, (speak, _) in enumerate(self._waiting) if speak.cue == question.cue), None)
        if waiting is None:
            self._waiting.append((question, False))
        else:  # several items left out of one readback are one question
            earlier = self._waiting[waiting][0]
            joined = Speak(question.cue, speaker, f"{earlier.text.rstrip('.')}, {text}")
            self._waiting[waiting] = (joined, False)

    def _say_again(self) -> None:
        if self._last_spoken is not None:
            last = self._last_spoken
            name = last.cue if last.cue.startswith("again: ") else f"again: {last.cue}"
            self._waiting.append((Speak(name, last.speaker, last.text), False))

    def _obey(self, order: str, now: float, outcome: Outcome) -> None:
        match order:
            case "freeze" if not self.paused:
                self._take(Paused(at_seconds=at(now), reason="asked by the student"), outcome)
            case "continue" if self.paused:
                self._take(Resumed(at_seconds=at(now)), outcome)
            case "say again":
                self._say_again()
            case "end":
                outcome.commands.append(Finish("by the student"))
            case _:
                pass

    def _fly(self, now: float, outcome: Outcome) -> None:
        if self.airborne is None or self.paused:
            return
        running = self.running_seconds(now)
        offset = now - running
        for flown in self.airborne.advance(running):
            record = Flown(
                at_seconds=at(flown.at_seconds + offset), name=flown.name, values=dict(flown.values)
            )
            self._take(record, outcome)
        if running >= self._next_position:
            self._next_position = running + LEAST_POSITION_INTERVAL_SECONDS
            outcome.records.append(Position(at_seconds=at(now), **self.airborne.position()))

    def _begin_steps(self, now: float, outcome: Outcome) -> None:
        while (step := self._steps.due(self.running_seconds(now))) is not None:
            self._take(StepBegan(at_seconds=at(now), step=step.step), outcome)
            if step.cue is not None:
                speak = Speak(step.step, step.cue.speaker, self.drill.spoken(step.cue))
                self._waiting.append((speak, step.cue.urgent))
            elif step.flow is None:
                self._steps.note_settled(step.step)

    def _settle_step_without_flow(self, cue: str) -> None:
        if any(step.step == cue and step.flow is None for step in self.drill.steps):
            self._steps.note_settled(cue)

    def _give_floor(self, outcome: Outcome) -> None:
        if not self._waiting or (self.paused and not self._waiting[0][1]):
            return
        urgent = next((entry for entry in self._waiting if entry[1]), None)
        if urgent is not None and not self.floor.is_free_for(urgent=True):
            if not self._silencing:
                outcome.commands.append(FallSilent())
                self._silencing = True
            return
        entry = urgent or self._waiting[0]
        if self.floor.is_free_for(urgent=entry[1]):
            self._waiting.remove(entry)
            self._silencing = False
            self.floor = self.floor.after(CueGiven())
            self._last_spoken = entry[0]
            outcome.commands.append(entry[0])

    def _finish_when_done(self, now: float, outcome: Outcome) -> None:
        if self.running_seconds(now) >= self.drill.limit_seconds:
            outcome.commands.append(Finish("time limit"))
        elif self._steps.all_settled and not self._waiting and self.floor == Floor():
            outcome.commands.append(Finish("finished"))

    def _call(self, step: str, call: str) -> Call:
        flow = self.drill.step_named(step).flow
        assert flow is not None
        return next(c for c in flow.calls if c.call == call)
