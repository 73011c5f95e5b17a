"""Scenes for the pure rooms: facts by hand, what is said as text, time as the test likes."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.matcher import Tick, match
from voice_trainer.grading.score import Grade, grade
from voice_trainer.grading.state import expect
from voice_trainer.journal.events import (
    AnyDecision,
    AnyFact,
    CueEnded,
    CueStarted,
    Ended,
    Flown,
    Heard,
    ListeningStarted,
    ListeningStopped,
    Settings,
    SpeechEnded,
    SpeechStarted,
    StepBegan,
    at,
)
from voice_trainer.journal.hearing import Clarity, Hearing, Interpretation
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.typed import hear_text

SECONDS_A_WORD = 0.3


def typed(text: str, grammar: Grammar, onset_seconds: float) -> Hearing:
    """What `text` says, without any doubt."""
    return hear_text(text, grammar, onset_seconds, SECONDS_A_WORD)


def drill_of(*flows: dict[str, Any], **more: Any) -> Drill:
    """A radio drill with a step for each flow: step 1, step 2, ..."""
    steps = [
        {
            "step": f"step {number}",
            "when": "start" if number == 1 else "settled",
            "cue": {"speaker": "controller", "say": "go ahead"},
            "flow": flow,
        }
        for number, flow in enumerate(flows, start=1)
    ]
    return Drill.model_validate(
        {"drill": "scene", "title": "Scene", "kind": "radio", "trains": "testing", "steps": steps} | more
    )


FLOWN_HEAD: dict[str, Any] = {
    "drill": "flown",
    "title": "Flown",
    "kind": "procedure",
    "trains": "testing",
    "station": {"ident": "KLD", "name": "Kelda", "frequency": "114.3"},
    "aeroplane": {
        "distance_nm": 1.5,
        "radial_degrees": 120,
        "heading_degrees": 300,
        "course_degrees": 300,
        "altitude_feet": 3000,
        "airspeed_knots": 150,
    },
}
"""All of a flown drill but its steps: towards Kelda, a mile and a half away."""


class Scene:
    """One session told fact by fact; `now` only ever grows. `ears` make a hearing of what is said."""

    def __init__(
        self,
        drill: Drill,
        settings: Settings | None = None,
        *,
        ticking: float | None = None,
        ears: Callable[[str, Grammar, float], Hearing] = typed,
    ) -> None:
        self.drill = drill
        self.settings = settings or Settings()
        self.state = expect(drill, self.settings)
        self.grammar = domain_of(drill)
        self.facts: list[AnyFact] = []
        self.decisions: list[AnyDecision] = []
        self.records: list[AnyFact | AnyDecision] = []
        """Both, as they are in a journal."""
        self.now = 0.0
        self._ticking = ticking
        self._ears = ears

    def send(self, fact: AnyFact) -> None:
        if self._ticking:
            while self.now + self._ticking < fact.at_seconds:
                self.now = at(self.now + self._ticking)
                self._match(Tick(self.now))
        self.now = fact.at_seconds
        self.facts.append(fact)
        self.records.append(fact)
        self._match(fact)

    def _match(self, event: AnyFact | Tick) -> None:
        self.state, decisions = match(self.state, event)
        self.decisions += decisions
        self.records += decisions

    def wait(self, seconds: float) -> Scene:
        """Let time pass; it is noticed when the next fact comes."""
        target = at(self.now + seconds)
        if self._ticking:
            while self.now + self._ticking < target:
                self.now = at(self.now + self._ticking)
                self._match(Tick(self.now))
        self.now = target
        return self

    def tick(self) -> Scene:
        self._match(Tick(self.now))
        return self

    def begin(self, step: str, cue_seconds: float = 2.0) -> Scene:
        """A step begins, and its cue is spoken."""
        self.send(StepBegan(at_seconds=self.now, step=step))
        if self.drill.step_named(step).cue is not None:
            self.cue(step, cue_seconds)
        return self

    def cue(self, name: str, seconds: float = 2.0) -> Scene:
        self.send(CueStarted(at_seconds=self.now, cue=name, speaker="controller", text="..."))
        self.send(CueEnded(at_seconds=at(self.now + seconds), cue=name))
        return self

    def deaf(self, seconds: float) -> Scene:
        self.send(ListeningStopped(at_seconds=self.now))
        self.send(ListeningStarted(at_seconds=at(self.now + seconds)))
        return self

    def fly(self, name: str) -> Scene:
        self.send(Flown(at_seconds=self.now, name=name))
        return self

    def say(
        self,
        text: str,
        *,
        after: float = 1.0,
        clarity: Clarity | None = None,
        rivals: tuple[Interpretation, ...] = (),
    ) -> Scene:
        """Say something `after` seconds from now; it is heard a little after it ends, as this or as its `rivals`."""
        onset = at(self.now + after)
        hearing = self._ears(text, self.grammar, onset)
        if clarity is not None:
            hearing = hearing.model_copy(update={"clarity": clarity})
        self.send(SpeechStarted(at_seconds=at(onset + 0.03), onset_seconds=onset))
        end = max(hearing.end_seconds, at(onset + 0.2))
        self.send(SpeechEnded(at_seconds=at(end + 0.6), start_seconds=onset, end_seconds=end))
        hearing = hearing.model_copy(update={"interpretations": (*hearing.interpretations, *rivals)})
        self.send(Heard(at_seconds=at(end + 0.7), hearing=hearing))
        return self

    def say_all(self, texts: Iterable[str], after: float = 1.0) -> Scene:
        for text in texts:
            self.say(text, after=after)
        return self

    def end(self, reason: str = "finished") -> Grade:
        """Let every window run out, end the session, and grade it."""
        self.wait(60.0).tick()
        self.send(Ended(at_seconds=self.now, reason=reason))
        return self.grade()

    def grade(self) -> Grade:
        return grade(self.drill, self.decisions)

    def verdicts(self) -> dict[str, str]:
        """The last verdict of each call, by name."""
        return {v.call: v.verdict for v in self.grade().verdicts}
