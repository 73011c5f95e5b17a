"""Somebody in the chair, for the tests of the sequencer."""

from __future__ import annotations

from typing import Any

from tests.scenes import FLOWN_HEAD
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.matcher import Tick
from voice_trainer.journal.events import (
    AnyFact,
    CueEnded,
    CueStarted,
    Heard,
    Settings,
    SpeechEnded,
    SpeechStarted,
    at,
)
from voice_trainer.journal.hearing import Clarity
from voice_trainer.recognition.typed import hear_text
from voice_trainer.sequencing.commands import Speak
from voice_trainer.sequencing.sequencer import Sequencer


class Chair:
    """Somebody in the chair: ticks, lets cues sound for a second each, and says things."""

    def __init__(self, drill: Drill, settings: Settings | None = None) -> None:
        self.sequencer = Sequencer(drill, settings or Settings())
        self.grammar = domain_of(drill, self.sequencer.settings.trainer_name, self.sequencer.settings.drills)
        self.now = 0.0
        self.records: list[Any] = []
        self.commands: list[Any] = []
        self._sounded = 0

    def send(self, event: AnyFact | Tick) -> list[Any]:
        outcome = self.sequencer.receive(event)
        self.records += outcome.records
        self.commands += outcome.commands
        return outcome.commands

    def tick(self, seconds: float = 0.1) -> list[Any]:
        """Let time pass in tenths; the commands on the way."""
        given: list[Any] = []
        for _ in range(round(seconds / 0.1)):
            self.now = at(self.now + 0.1)
            given += self.send(Tick(self.now))
        return given

    def sound(self, cue: str, seconds: float = 1.0) -> None:
        self.send(CueStarted(at_seconds=self.now, cue=cue, speaker="controller", text="..."))
        self.tick(seconds)
        self.send(CueEnded(at_seconds=self.now, cue=cue))

    def listen(self, seconds: float = 0.1, cue_seconds: float = 1.0) -> list[Speak]:
        """Let time pass and everything that is said in it sound; returns that."""
        heard: list[Speak] = []
        until = self.now + seconds
        due = [c for c in self.commands[self._sounded :] if isinstance(c, Speak)]
        self._sounded = len(self.commands)
        while due or self.now < until:
            if due:
                speak = due.pop(0)
                heard.append(speak)
                began = self.now
                self.sound(speak.cue, cue_seconds)
                until += self.now - began
            else:
                self.tick()
            due += [c for c in self.commands[self._sounded :] if isinstance(c, Speak)]
            self._sounded = len(self.commands)
        return heard

    def begin_to_say(self) -> None:
        self.send(SpeechStarted(at_seconds=self.now, onset_seconds=self.now))

    def say(self, text: str, clarity: Clarity | None = None) -> list[Any]:
        onset = self.now
        self.begin_to_say()
        hearing = hear_text(text, self.grammar, onset, 0.3)
        if clarity is not None:
            hearing = hearing.model_copy(update={"clarity": clarity})
        self.tick(hearing.end_seconds - onset + 0.6)
        self.send(SpeechEnded(at_seconds=self.now, start_seconds=onset, end_seconds=hearing.end_seconds))
        return self.send(Heard(at_seconds=self.now, hearing=hearing))


def spoken(commands: list[Any]) -> list[str]:
    return [command.cue for command in commands if isinstance(command, Speak)]


def flown(*steps: dict[str, Any], **more: Any) -> Drill:
    return Drill.model_validate(FLOWN_HEAD | {"steps": list(steps)} | more)


def heading(chair: Chair) -> float:
    assert chair.sequencer.airborne is not None
    return chair.sequencer.airborne.flight.state.heading_degrees
