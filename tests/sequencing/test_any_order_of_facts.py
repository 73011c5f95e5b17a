"""Whatever happens in whatever legal order, the sequencer never raises, and at the end everybody is silent.

What is legal now is read off the floor's own tables: a fact that they hold goes to the sequencer, any other must raise
in the floor. So whoever adds a state or a fact to them is held to it.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from tests.mutations import drill_named
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.matcher import Tick
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import (
    AnyFact,
    CueEnded,
    CueStarted,
    Decision,
    Ended,
    Heard,
    ListeningStarted,
    ListeningStopped,
    Ordered,
    Settings,
    SpeechDropped,
    SpeechEnded,
    SpeechStarted,
    at,
)
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.typed import hear_text
from voice_trainer.sequencing import floor as floors
from voice_trainer.sequencing.commands import FallSilent, Finish, Speak
from voice_trainer.sequencing.floor import (
    STUDENT,
    TRAINER,
    CueGiven,
    Floor,
    IllegalEventError,
    Student,
    Trainer,
)
from voice_trainer.sequencing.sequencer import Sequencer

DRILLS = ("brannock-clearance", "kelda-outbound", "stabilised-gates", "engine-fire-in-flight")
SAID = (
    "", "let me see", "time not required", "turn right heading three three three", "turn left heading",
    "three three three", "correction", "correction three one zero", "turn left heading three one zero",
    "maintain two thousand six hundred", "maintain two thousand", "six hundred", "heron two four", "heron two",
    "power lever idle", "speed", "sink rate", "disregard", "stand by", "say again", "say heading", "i said that",
    "trainer freeze", "trainer continue", "trainer say again", "trainer skip", "trainer back", "trainer next event",
    "trainer slower", "trainer under load", "trainer read along", "trainer what did i miss", "trainer end",
)  # fmt: skip
ORDERS = ("freeze", "continue", "say again", "skip", "back", "next event", "slower", "faster", "cold", "end")

FACTS: tuple[type, ...] = tuple(
    dict.fromkeys(kind for _, kind in (*TRAINER, *STUDENT) if kind is not CueGiven)
)
"""All that is in the tables, but what the sequencer does itself."""

MOST_STEPS_TO_SILENCE = 12


@cache
def grammar_of(name: str) -> Grammar:
    return domain_of(drill_named(name))


def is_legal(floor: Floor, kind: type) -> bool:
    return (floor.trainer, kind) in TRAINER or (floor.student, kind) in STUDENT


class AnyOrderOfFacts(RuleBasedStateMachine):
    """Ears, mouth and keys that do anything that they may."""

    def __init__(self) -> None:
        super().__init__()
        self.now = 0.0
        self.over = False
        self.deaf = False
        self.cues: list[Speak] = []
        """Given to the mouth and not begun, or sounding; the first one first."""
        self.records: list[Any] = []
        self.began = 0.0

    @initialize(
        name=st.sampled_from(DRILLS),
        mode=st.sampled_from(["fly through", "stop and correct"]),
        level=st.sampled_from(["read along", "prompted", "cold", "under load"]),
        steps_in=st.booleans(),
        headset=st.booleans(),
    )
    def sit_down(self, name: str, mode: str, level: str, steps_in: bool, headset: bool) -> None:
        self.drill: Drill = drill_named(name)
        self.settings = Settings.model_validate(
            {
                "mode": mode,
                "level": level,
                "steps_in": steps_in,
                "listening": "headset" if headset else "half-duplex",
            }
        )
        self.grammar = grammar_of(name)
        self.sequencer = Sequencer(self.drill, self.settings)
        self.send(Tick(0.0))

    # What may happen.

    @rule(seconds=st.sampled_from((0.03, 0.1, 0.5, 1.0, 2.5, 5.0, 12.0)))
    def time_passes(self, seconds: float) -> None:
        self.now = at(self.now + seconds)
        self.send(Tick(self.now))

    @rule(kind=st.sampled_from(FACTS), text=st.sampled_from(SAID), unclear=st.booleans())
    def something_happens(self, kind: type, text: str, unclear: bool) -> None:
        """A fact of the tables, where it is legal; in the pure floor it must raise where it is not."""
        fact = self.fact(kind, text, unclear=unclear)
        if is_legal(self.floor, kind):
            self.send(fact)
            return
        try:
            self.floor.after(fact)
        except IllegalEventError:
            return
        raise AssertionError(f"{kind.__name__} is not in the tables at {self.floor}, and does not raise")

    @precondition(lambda self: not self.over and self.settings.listening == "half-duplex")
    @rule()
    def the_ears_go_deaf_or_open(self) -> None:
        self.deaf = not self.deaf
        kind = ListeningStopped if self.deaf else ListeningStarted
        self.send(kind(at_seconds=self.now))

    @rule(order=st.sampled_from(ORDERS))
    def a_key_is_pressed(self, order: str) -> None:
        if not self.over:
            self.send(Ordered(at_seconds=self.now, order=order))

    # What must hold.

    @invariant()
    def a_cue_has_the_floor_or_there_is_none(self) -> None:
        if hasattr(self, "sequencer") and not self.over:
            assert (self.floor.trainer is Trainer.SILENT) == (not self.cues)

    def teardown(self) -> None:
        """Everybody comes to an end: then it is silent, and the floor is free."""
        if not hasattr(self, "sequencer"):
            return
        for _ in range(MOST_STEPS_TO_SILENCE):
            if self.over or self.floor == Floor():
                break
            self.now = at(self.now + 0.1)
            self.fall_quiet()
        if not self.over:
            # Whoever waited may have got the floor with that: it is the trainer's then, and nobody else's.
            assert self.floor.student is Student.SILENT
            assert self.floor.trainer is Trainer.SILENT or self.cues
            self.send(Ended(at_seconds=self.now, reason="by the student"))
        again = replay(self.drill, self.settings, self.records)
        assert [d for d in self.records if isinstance(d, Decision)] == again

    def fall_quiet(self) -> None:
        """One step nearer to silence for each voice."""
        if self.floor.trainer is Trainer.ABOUT_TO_SPEAK:
            self.send(self.fact(CueStarted, ""))
        if not self.over and self.floor.trainer is Trainer.SPEAKING:
            self.send(self.fact(CueEnded, ""))
        for kind in (SpeechEnded, Heard):
            if not self.over and (self.floor.student, kind) in STUDENT:
                self.send(self.fact(kind, ""))

    @property
    def floor(self) -> Floor:
        return self.sequencer.floor

    def fact(self, kind: type, text: str, *, unclear: bool = False) -> AnyFact:
        if kind is SpeechStarted:
            return SpeechStarted(at_seconds=self.now, onset_seconds=max(0.0, at(self.now - 0.1)))
        if kind is SpeechEnded:
            return SpeechEnded(at_seconds=self.now, start_seconds=self.began, end_seconds=self.now)
        if kind is Heard:
            hearing = hear_text(text, self.grammar, max(self.began, at(self.now - 0.4)), 0.1)
            if unclear and hearing.best is not None:
                hearing = hearing.model_copy(update={"clarity": "unclear"})
            return Heard(at_seconds=self.now, hearing=hearing)
        cue = self.cues[0].cue if self.cues else "nothing"
        if kind is CueStarted:
            return CueStarted(at_seconds=self.now, cue=cue, speaker="instructor", text="...")
        if kind is CueEnded:
            return CueEnded(at_seconds=self.now, cue=cue)
        # A fact of the tables that is newer than this test takes the time and no more, like SpeechDropped.
        return getattr(floors, kind.__name__)(at_seconds=self.now)

    def send(self, event: AnyFact | Tick) -> None:
        if self.over:
            return
        if isinstance(event, SpeechStarted):
            self.began = event.onset_seconds
        if isinstance(event, CueEnded) and self.cues:
            self.cues.pop(0)
        outcome = self.sequencer.receive(event)
        self.records += outcome.records
        self.over = isinstance(event, Ended)
        for command in outcome.commands:
            if isinstance(command, Speak):
                self.cues.append(command)
            elif isinstance(command, FallSilent) and self.cues:
                self.send(CueEnded(at_seconds=self.now, cue=self.cues[0].cue, complete=False))
            elif isinstance(command, Finish):
                self.send(Ended(at_seconds=self.now, reason=command.reason))


TestAnyOrderOfFacts = AnyOrderOfFacts.TestCase
TestAnyOrderOfFacts.settings = hypothesis_settings(max_examples=150, stateful_step_count=50, deadline=None)


def test_what_the_machine_sends_is_what_the_tables_hold() -> None:
    assert set(FACTS) >= {CueStarted, CueEnded, SpeechStarted, SpeechDropped, SpeechEnded, Heard}
