"""The sequencer: what happens goes in, what is to be written down and done comes out. Sans-I/O.

Theory of operation
-------------------
`receive` takes one fact (or a `Tick`, which carries only the time) and works through it in a set order:

1. the aeroplane flies up to the time of the fact; what happens on the way are facts of their own, and are
   taken in first;
2. the matcher takes the fact in, and decides;
3. decisions are acted upon: a call that was accepted is done by the aeroplane, what could not be made out is
   asked for again, what was left out is asked for, a flow that is closed settles its step, an order is obeyed;
4. in 'stop and correct' everything stands still for a wrong or missed call, until it is put right;
5. steps whose condition has come true begin;
6. whoever waits for the floor gets it when it is free.

What an order does to the grade is a fact of its own (`Skipped`, `Disputed`, `WentBack`, ...), so that a replay, which
sees no sequencer, comes to the same.

`Outcome.records` are to be written to the journal in their order, before the commands are carried out. The
clock that steps and flight run on is the session's, less the stretches in which everything stands still.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import get_args

from voice_trainer.drills.cue_names import (
    PREAMBLE,
    question_about,
    read_along,
    repeated,
    step_that_starts_anew,
)
from voice_trainer.drills.model import Call, Drill, Level
from voice_trainer.flight.flight import Flight
from voice_trainer.grading.discretion import what_is_kept
from voice_trainer.grading.interventions import STAND_BY, STAND_BY_SECONDS, WHILE_CORRECTED
from voice_trainer.grading.matcher import Tick, match
from voice_trainer.grading.settling import settle_call
from voice_trainer.grading.state import CallState, FlowState, MatchState, expect
from voice_trainer.journal.events import (
    ASLEEP,
    DEVICE_LOST,
    FASTEST_PACE,
    SLOWEST_PACE,
    Accepted,
    AnyDecision,
    AnyFact,
    AskAgain,
    AskFor,
    AskForRest,
    Commanded,
    CorrectionBegan,
    CorrectionEnded,
    CueEnded,
    CueStarted,
    Disputed,
    Ended,
    Extra,
    Fault,
    FlowClosed,
    Flown,
    Heard,
    Jumped,
    LevelChanged,
    Ordered,
    PaceChanged,
    Paused,
    Position,
    PutRight,
    Resumed,
    Settings,
    Settled,
    Skipped,
    SpeechDoubted,
    StepBegan,
    ToTrainer,
    WentBack,
    at,
)
from voice_trainer.journal.hearing import Hearing
from voice_trainer.phraseology.orders import FROM_THE_FIX, I_SAID, START
from voice_trainer.sequencing import answers
from voice_trainer.sequencing.airborne import Airborne
from voice_trainer.sequencing.commands import Command, FallSilent, Finish, Sound, Speak, Tone
from voice_trainer.sequencing.floor import CueGiven, Floor, IllegalEventError, Student, Trainer
from voice_trainer.sequencing.from_the_fix import last_fix
from voice_trainer.sequencing.load import CHATTER, load_of
from voice_trainer.sequencing.running_clock import RunningClock
from voice_trainer.sequencing.steps import StepRunner
from voice_trainer.sequencing.stops import Stops
from voice_trainer.sequencing.waiting import WaitingLines

LEAST_POSITION_INTERVAL_SECONDS = 1.0

PACE_STEP = 1.2
"""'Slower' and 'faster' change the rate of speech by this factor."""

TALK_SO_OFTEN, TALK_WITHIN_SECONDS = 3, 60.0
"""When speech that is no call has come so often within so long, the student is told what helps (ours)."""

ORDERS_AFTERWARDS = (
    "end",
    "again",
    FROM_THE_FIX,
    I_SAID,
    "what did i miss",
    "slower",
    "faster",
    *get_args(Level),
)
"""What can still be asked for when the drill is over, beside another drill; pace and level are then the next one's."""

ANSWER = "answer"
CORRECTION = "correction: "
"""Cue names of what the trainer says when it is spoken to, and when it corrects."""


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
        self.pace = settings.pace
        self._clock = RunningClock()
        self._steps = StepRunner(drill)
        self._waiting = WaitingLines()
        self._opened = drill.preamble is None
        if drill.preamble is not None:
            self._waiting.add(Speak(PREAMBLE, "instructor", drill.preamble))
        self._stops = Stops()
        self._flight_before: dict[str, Flight | None] = {}
        self._read_along: set[tuple[str, str]] = set()
        self._load = list(load_of(drill, settings.seed))
        self._last_spoken: Speak | None = None
        self._last_from_controller: Speak | None = None
        self._last_of_a_step: Speak | None = None
        self._last_about_a_step: Speak | None = None
        self._speaking: Speak | None = None
        self._paused_for = ""
        self._told_of_pause = False
        self._next_position = 0.0
        self._silencing = False
        self._hushed = False
        self._over = False
        self._asked_afterwards = 0
        self._thinks_until = 0.0
        self._silent_until = 0.0
        self._doubted: list[float] | None = []

    @property
    def paused(self) -> bool:
        """Whether the session is frozen."""
        return "paused" in self._clock.reasons

    def running_seconds(self, session_seconds: float) -> float:
        """Session time less what stood still so far."""
        return self._clock.reading(session_seconds)

    def go_on_after(self, fault: IllegalEventError, event: AnyFact) -> Outcome:
        """Take in an event that can't happen now: the fault is written down, and it goes on as if it could."""
        outcome = Outcome()
        self._take(Fault(at_seconds=event.at_seconds, what=str(fault)), outcome)
        self.floor = self.floor.made_ready_for(event)
        rest = self.receive(event)
        return Outcome([*outcome.records, *rest.records], rest.commands)

    def receive(self, event: AnyFact | Tick) -> Outcome:
        """Take one event in. Raises IllegalEventError for one that can't happen now, before anything has changed."""
        outcome = Outcome()
        if not isinstance(event, Tick) and not self._over:
            self.floor.after(event)
        if self._over:
            self._take_afterwards(event, outcome)
            return outcome
        now = event.at_seconds
        self._fly(now, outcome)
        self._take(event, outcome)
        if isinstance(event, Ended):
            self._over = True
            return outcome
        self._stop_and_correct(now, outcome)
        if self._opened and not self._clock.stands_still:
            if not self._is_advising:
                self._begin_steps(now, outcome)
            self._help(now)
        self._give_floor(now, outcome)
        self._finish_when_done(now, outcome)
        return outcome

    def _take_afterwards(self, event: AnyFact | Tick, outcome: Outcome) -> None:
        """After the end: what is said to the trainer, and what it says itself."""
        if isinstance(event, CueStarted | CueEnded):
            outcome.records.append(event)
        if not isinstance(event, Heard):
            return
        self._waiting.clear()
        event = event.model_copy(update={"hearing": what_is_kept(self.state, event.hearing)})
        outcome.records.append(event)
        self.state, decisions = match(self.state, event)
        outcome.records.extend(decisions)
        for order in decisions:
            if isinstance(order, ToTrainer) and (
                order.order in ORDERS_AFTERWARDS or order.order.startswith(f"{START} ")
            ):
                self._obey(order, event.at_seconds, outcome)
        if event.hearing.clarity == "clear":
            self._asked_afterwards = 0
        elif event.hearing.clarity == "unclear" and self._asked_afterwards < self.settings.most_asks:
            self._asked_afterwards += 1
            self._answer(answers.SAY_AGAIN)
        while (line := self._waiting.next_line(standing_still=True)) is not None:
            self._waiting.take(line)
            outcome.commands.append(replace(line.speak, pace=self.pace))

    def _take(self, event: AnyFact | Tick, outcome: Outcome) -> None:
        """One fact into the floor, the journal and the matcher, and its decisions into deeds."""
        said_while_frozen: Hearing | None = None
        if isinstance(event, Heard):
            said_while_frozen = event.hearing if self.paused else None
            kept = what_is_kept(self.state, event.hearing)
            event = event.model_copy(update={"hearing": kept})
        if not isinstance(event, Tick):
            self.floor = self.floor.after(event)
            outcome.records.append(event)
        match event:
            case Paused(at_seconds=now, reason=reason):
                self._clock.stop("paused", now)
                self._paused_for = reason
                self._told_of_pause = False
                if reason == ASLEEP:
                    self._answer(answers.was_asleep(self.settings.trainer_name))
            case Resumed(at_seconds=now):
                self._clock.start("paused", now)
                self._stops.explained(now)
                if self._paused_for == DEVICE_LOST:
                    self._say_what_was_cut()
                    self._answer(answers.DEVICE_IS_BACK)
            case CorrectionBegan(at_seconds=now):
                self._clock.stop("correction", now)
            case CorrectionEnded(at_seconds=now):
                self._clock.start("correction", now)
            case CueEnded():
                self._cue_ended(event)
            case SpeechDoubted(at_seconds=now):
                self._advise_against_talk(now)
            case Heard(hearing=hearing, open_ended=open_ended):
                self._thinks_until = hearing.end_seconds + self.settings.thinking_seconds
                self._silent_until = self._thinks_until if open_ended else 0.0
                self._stops.put_off(self._thinks_until)
            case Flown(name=name, values=values, at_seconds=now):
                self._steps.note_flown(name)
                if self.settings.steps_in:
                    self._step_in(name, values, now, outcome)
            case _:
                pass
        self.state, decisions = match(self.state, event)
        outcome.records.extend(decisions)
        for decision in decisions:
            self._act(decision, event, outcome)
        if said_while_frozen is not None:
            self._answer_while_frozen(said_while_frozen, event.at_seconds, outcome)
        if isinstance(event, Ordered):
            said = ToTrainer(at_seconds=event.at_seconds, order=event.order)
            self._obey(said, event.at_seconds, outcome)

    def _cue_ended(self, event: CueEnded) -> None:
        cue, cut_short = event.cue, self._speaking
        self._opened |= cue == PREAMBLE
        self._speaking = None
        if not event.complete and not self._hushed and cut_short is not None and cut_short.cue != CHATTER:
            # What an urgent cue cut short, or a device that went, is said again: the student has not heard it.
            self._waiting.repeat(cut_short, always=self._clock.stands_still)
        self._hushed = False
        if not self.paused:  # who was answered meanwhile could not speak
            self._stops.explained(event.at_seconds)
        if any(step.step == cue and step.flow is None for step in self.drill.steps):
            self._steps.note_settled(cue)

    def _say_what_was_cut(self) -> None:
        """A device was lost: what was said last about a step that is still open is said again, and so asks again for an
        answer that was cut off.
        """
        last = self._last_about_a_step
        step = None if last is None else step_that_starts_anew(last.cue) or last.cue
        if last is not None and any(flow.step == step for _, flow in self.state.open_flows()):
            self._waiting.repeat(last)

    def _act(self, decision: AnyDecision, event: AnyFact | Tick, outcome: Outcome) -> None:
        now = event.at_seconds
        match decision:
            case Accepted(step=step, call=call):
                self._sound("heard", outcome)
                self._command(self._call(step, call).call, decision.slots, "student", now, outcome)
                self._mind_the_value(step, call)
                self._stops.explained(now)  # while others are said, the one that is waited for is not
            case AskAgain(step=step, wording=wording):
                self._sound("say again", outcome)
                self._ask(step, answers.SAY_AGAIN if wording is None else answers.say_again_as(wording))
            case AskFor(step=step, text=text) | AskForRest(step=step, text=text):
                self._ask(step, text)
            case Settled(verdict="missed" | "wrong value") if not isinstance(event, Ended | Skipped):
                self._want_right(decision.step, decision.call, now)
                if decision.verdict == "missed" and self.settings.assist:
                    self._assist(decision.step, decision.call, now, outcome)
            case Settled(verdict="unclear") if not isinstance(event, Ended | Skipped):
                # It was said, as far as anybody knows: what follows from it is not held against the student either.
                due = self._call(decision.step, decision.call).call
                self._command(due, self.drill.pattern(due).expected, "instructor", now, outcome)
            case FlowClosed(step=step):
                self._steps.note_settled(step)
            case PutRight(step=step, call=call):
                self._sound("heard", outcome)
                self._command(self._call(step, call).call, decision.slots, "student", now, outcome)
                self._stops.no_longer(step, call)
            case ToTrainer():
                self._obey(decision, now, outcome)
            case Extra(note=note) if note == WHILE_CORRECTED:
                self._sound("say again", outcome)
            case Extra(said=said):
                self._answer_the_radio(said, now, outcome)
            case _:
                pass

    def _answer_while_frozen(self, hearing: Hearing, now: float, outcome: Outcome) -> None:
        """What was said into a freeze, of which no word is kept: a call is not graded, but does not vanish either.

        Talk is left alone: only who says nothing but words of the trade is answered.
        """
        spans = hearing.best.spans if hearing.best and hearing.clarity == "clear" else ()
        if any(span.kind == "call" for span in spans):
            if not self.paused:  # a call in one breath with 'continue', before which nothing was taken in
                self._sound("say again", outcome)
            elif self._paused_for != DEVICE_LOST and not self._told_of_pause:
                self._told_of_pause = True
                self._answer(answers.standing_still(self.settings.trainer_name))
        elif all(span.kind == "trade" for span in spans):
            for span in spans:
                self._answer_the_radio(span.text, now, outcome)

    def _answer_the_radio(self, said: str, now: float, outcome: Outcome) -> None:
        """What is said to the controller or the aeroplane, and belongs to no call."""
        if said.startswith("say again") and self._stops.step is not None:
            self._repeat(self._last_spoken)  # the instructor has the floor
        elif said.startswith("say again"):
            self._repeat(self._last_from_controller or self._last_of_a_step)
        elif said == STAND_BY:
            self._sound("heard", outcome)
            self._stops.give_time(now, STAND_BY_SECONDS)
        elif said in answers.PANEL_QUESTIONS and self.airborne is not None:
            text = answers.panel_answer(said, self.airborne.panel(), self.drill.region)
            self._waiting.add(Speak(ANSWER, "aeroplane", text), always=True, first=True)

    def _advise_against_talk(self, now: float) -> None:
        """Others talk beside the student: what helps is said once."""
        if self._doubted is None:
            return
        self._doubted = [*(each for each in self._doubted if each > now - TALK_WITHIN_SECONDS), now]
        if len(self._doubted) >= TALK_SO_OFTEN:
            self._doubted = None
            self._answer(answers.OTHERS_TALK)

    @property
    def _is_advising(self) -> bool:
        """Whether that is still to be heard: no step begins beneath it, so that its cue isn't late for it."""
        said = self._speaking is not None and self._speaking.text == answers.OTHERS_TALK
        return said or self._waiting.holds(answers.OTHERS_TALK)

    def _sound(self, tone: Tone, outcome: Outcome) -> None:
        """A tone, but never into what the student says."""
        if self.floor.student is Student.SILENT:
            outcome.commands.append(Sound(tone))

    def _command(self, call: Call, slots: dict[str, str], by: str, now: float, outcome: Outcome) -> None:
        if self.airborne is None or call.does is None:
            return
        record = Commanded.model_validate(
            {"at_seconds": at(now), "verb": call.does, "slots": dict(call.given) | slots, "by": by}
        )
        if self.airborne.do(record.verb, record.slots, self.running_seconds(now)):
            outcome.records.append(record)

    def _ask(self, step: str, text: str) -> None:
        cue = self.drill.step_named(step).cue
        speaker = cue.speaker if cue and not text.startswith(answers.SAY_AGAIN) else "instructor"
        self._waiting.ask(Speak(question_about(step), speaker, text))

    def _repeat(self, speak: Speak | None) -> None:
        if speak is not None:
            self._waiting.add(replace(speak, cue=repeated(speak.cue)), always=True, first=True)

    def _answer(self, text: str) -> None:
        self._waiting.add(Speak(ANSWER, "instructor", text), always=True, first=True)

    # Orders.

    def _obey(self, said: ToTrainer, now: float, outcome: Outcome) -> None:
        match said.order:
            case "freeze" if not self.paused:
                self._take(Paused(at_seconds=at(now), reason="asked by the student"), outcome)
            case "continue" if self.paused:
                self._take(Resumed(at_seconds=at(now)), outcome)
            case "say again":
                self._repeat(self._last_spoken)
            case "slower" | "faster" as order:
                factor = PACE_STEP if order == "faster" else 1 / PACE_STEP
                self.pace = round(min(FASTEST_PACE, max(SLOWEST_PACE, self.pace * factor)), 3)
                self._take(PaceChanged(at_seconds=at(now), pace=self.pace), outcome)
                self._answer(f"{order.capitalize()}.")
            case order if order in get_args(Level):
                self._take(LevelChanged.model_validate({"at_seconds": at(now), "level": order}), outcome)
                self._answer(f"{order.capitalize()}.")
            case "skip":
                self._skip(now, outcome)
            case "next event":
                self._jump(now, outcome)
            case "back":
                self._go_back(now, outcome)
            case "what did i miss":
                self._answer(answers.what_was_missed(self._faults(now)))
            case "i said":
                self._dispute(said, now, outcome)
            case "end":
                outcome.commands.append(Finish("by the student"))
            case "again":
                outcome.commands.append(Finish("again"))
            case order if order == FROM_THE_FIX:
                if self.airborne is None or last_fix(self.drill, self._steps.begun) is None:
                    self._answer(answers.NO_WAY_BACK)
                else:
                    outcome.commands.append(Finish(FROM_THE_FIX))
            case order if order.startswith("start "):
                outcome.commands.append(Finish(order))
            case _:
                pass

    def _skip(self, now: float, outcome: Outcome) -> None:
        if self._stops.step is not None:
            self._end_correction("instructor", now, outcome)
        flow = next((flow for _, flow in self.state.open_flows()), None)
        if flow is not None:
            self._waiting.drop_about(flow.step)
            self._take(Skipped(at_seconds=at(now), step=flow.step), outcome)
            self._sound("heard", outcome)

    def _jump(self, now: float, outcome: Outcome) -> None:
        """Fly ahead to where the next step is about to begin, but no window may close on the way."""
        wanted = self._steps.waits_for()
        if wanted is None or self.airborne is None:
            self._answer(answers.NO_NEXT_EVENT)
            return
        next_step = self._steps.next_step
        closes = {
            call.call.window.closes
            for flow in self.state.flows
            if flow.open or (next_step is not None and flow.step == next_step.step and not flow.closed)
            for call in flow.calls
            if call.said is None and call.call.window.closes is not None
        }
        jumped = self.airborne.jump(frozenset({wanted, *closes}), self.running_seconds(now))
        if jumped is None:
            self._answer(answers.NO_NEXT_EVENT)
            return
        seconds, events = jumped
        self._take(Jumped(at_seconds=at(now), seconds=round(seconds, 1)), outcome)
        for flown in events:
            self._take(Flown(at_seconds=at(now), name=flown.name, values=dict(flown.values)), outcome)
        outcome.records.append(Position(at_seconds=at(now), **self.airborne.position()))
        self._sound("heard", outcome)

    def _go_back(self, now: float, outcome: Outcome) -> None:
        step = self._steps.last_begun()
        if step is None:
            self._answer(answers.NO_WAY_BACK)
            return
        self._take(WentBack(at_seconds=at(now), step=step.step), outcome)
        self._clock.start("correction", now)
        self._stops.forget()
        self._waiting.clear()
        self._read_along.clear()
        if self.floor.trainer is not Trainer.SILENT:
            outcome.commands.append(FallSilent())
            self._hushed = True
        running = self.running_seconds(now)
        flight = self._flight_before[step.step]
        if self.airborne is not None and flight is not None:
            self.airborne.return_to(flight, running)
        self._steps.go_back(step.step, running)
        self._sound("heard", outcome)

    def _dispute(self, said: ToTrainer, now: float, outcome: Outcome) -> None:
        if not said.step:
            self._answer(answers.NOTHING_TO_DISPUTE)
            return
        self._take(Disputed(at_seconds=at(now), step=said.step, call=said.call), outcome)
        self._stops.no_longer(said.step, said.call)
        self._answer(f"Disputed: {said.call}.")

    def _faults(self, now: float) -> list[Settled]:
        """The last verdicts, with those of wrong values that may still be corrected."""
        flows = [flow for _, flow in self.state.open_flows()]
        wrong = [self._verdict(f.step, c.call.call, now) for f in flows for c in f.calls if c.wrong]
        return [*self.state.verdicts, *wrong]

    # Stop and correct.

    def _mind_the_value(self, step: str, call: str) -> None:
        if self._call(step, call).wrong:
            self._want_right(step, call, self._thinks_until)
        else:
            self._stops.no_longer(step, call)

    def _want_right(self, step: str, call: str, not_before: float) -> None:
        state = self._call(step, call)
        stops = self.settings.mode == "stop and correct" and not state.stopped_for
        if stops and state.call.need == "required":
            self._stops.want(step, call, not_before)

    def _assist(self, step: str, call: str, now: float, outcome: Outcome) -> None:
        """Do what a missed call should have done; in 'stop and correct' the student says it yet."""
        state = self._call(step, call)
        if self.settings.mode == "fly through" and state.call.need == "required":
            self._command(
                state.call, answers.values_to_put_right(self.drill, state.call), "instructor", now, outcome
            )

    def _step_in(self, event: str, values: dict[str, str], now: float, outcome: Outcome) -> None:
        """Where the flight leaves a limit the instructor says so at once, and puts it back."""
        told = answers.stepping_in(event, values, self.drill.region)
        if told is None or self.airborne is None:
            return
        text, verb, slots = told
        self._waiting.add(Speak(ANSWER, "instructor", text), urgent=True)
        if self.airborne.do(verb, slots, self.running_seconds(now)):
            record = {"at_seconds": at(now), "verb": verb, "slots": slots, "by": "instructor"}
            outcome.records.append(Commanded.model_validate(record))

    def _stop_and_correct(self, now: float, outcome: Outcome) -> None:
        if self.paused or not self.floor.is_free_for(urgent=False):
            return
        if self._stops.is_over(now):
            self._end_correction("instructor" if self._stops.owed else "student", now, outcome)
        due = self._stops.due(now)
        if due is None:
            return
        step, calls = due
        text = answers.correction([self._verdict(step, call, now) for call in calls])
        self._stops.begin(step, calls)
        self._take(CorrectionBegan(at_seconds=at(now), step=step, calls=calls), outcome)
        self._waiting.drop_about(step)
        self._waiting.add(Speak(f"{CORRECTION}{step}", "instructor", text), always=True, first=True)

    def _end_correction(self, by: str, now: float, outcome: Outcome) -> None:
        """Go on. What the student did not put right is done by the instructor, so that the drill makes sense."""
        step, owed = self._stops.step, list(self._stops.owed)
        self._stops.end()
        self._take(CorrectionEnded.model_validate({"at_seconds": at(now), "step": step, "by": by}), outcome)
        for call in owed:
            undone = self._call(step or "", call).call
            values = answers.values_to_put_right(self.drill, undone)
            self._command(undone, values, "instructor", now, outcome)
        if owed:
            self._waiting.add(Speak(ANSWER, "instructor", answers.GOING_ON), always=True, first=True)

    def _verdict(self, step: str, call: str, now: float) -> Settled:
        """What a call would be graded as now."""
        return settle_call(self.state, self._flow(step), self._call(step, call), now)

    # Time.

    def _fly(self, now: float, outcome: Outcome) -> None:
        if self.airborne is None or self._clock.stands_still:
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
            self._flight_before[step.step] = self.airborne.flight if self.airborne else None
            self._take(StepBegan(at_seconds=at(now), step=step.step), outcome)
            if step.cue is None:
                is_spoken = False
            else:
                is_spoken = not step.cue.is_silent(self.state.level)
                speak = Speak(step.step, step.cue.speaker, self.drill.spoken(step.cue))
                if is_spoken:
                    self._waiting.add(speak, urgent=step.cue.urgent)
                else:
                    self._last_spoken = speak
            if step.flow is None and not is_spoken:
                self._steps.note_settled(step.step)

    def _help(self, now: float) -> None:
        """What the level adds: calls read along before the student says them, or talk that is none of theirs."""
        running = self.running_seconds(now)
        level = self.state.level
        while self._load and self._load[0][0] <= running:
            _, chatter = self._load.pop(0)
            if level == "under load" and not self._waiting:
                self._waiting.add(chatter)
        if level != "read along" or self._waiting or not self.floor.is_free_for(urgent=False):
            return
        for _, flow in self.state.open_flows():
            owed = next((call.call for call in flow.calls if call.owed), None)
            if flow.base_listening is None or owed is None:
                continue
            if (flow.step, owed.call) not in self._read_along:
                self._read_along.add((flow.step, owed.call))
                text = answers.to_read_along(self.drill, owed)
                self._waiting.add(Speak(read_along(flow.step), "instructor", text))
            return

    def _give_floor(self, now: float, outcome: Outcome) -> None:
        line = self._waiting.next_line(standing_still=self._clock.stands_still)
        if line is None:
            return
        if line.urgent and not self.floor.is_free_for(urgent=True):
            if not self._silencing:
                outcome.commands.append(FallSilent())
                self._silencing = True
            return
        if self.floor.is_free_for(urgent=line.urgent) and (line.urgent or now >= self._silent_until):
            self._waiting.take(line)
            self._silencing = False
            self.floor = self.floor.after(CueGiven())
            speak = replace(line.speak, pace=self.pace)
            self._speaking = speak
            if speak.cue != CHATTER:
                self._last_spoken = speak
                if speak.speaker == "controller":
                    self._last_from_controller = speak
                if any(step.step == speak.cue for step in self.drill.steps):
                    self._last_of_a_step = self._last_about_a_step = speak
                elif step_that_starts_anew(speak.cue) is not None:
                    self._last_about_a_step = speak
            outcome.commands.append(speak)

    def _finish_when_done(self, now: float, outcome: Outcome) -> None:
        if self.running_seconds(now) >= self.drill.limit_seconds:
            outcome.commands.append(Finish("time limit"))
        elif (
            self._steps.all_settled
            and not (self._waiting or self._stops)
            and self.floor.is_free_for(urgent=False)
            and now >= self._silent_until
        ):
            outcome.commands.append(Finish("finished"))

    def _flow(self, step: str) -> FlowState:
        flow = self.state.flow_of(step)
        assert flow is not None
        return flow

    def _call(self, step: str, call: str) -> CallState:
        return next(c for c in self._flow(step).calls if c.call.call == call)
