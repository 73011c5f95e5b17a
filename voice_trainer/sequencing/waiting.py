"""What the trainer is about to say, in the order in which it will."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace

from voice_trainer.drills.cue_names import repeated, step_that_starts_anew
from voice_trainer.sequencing.commands import Speak


@dataclass(frozen=True, slots=True)
class Waiting:
    """One thing to say. `urgent`: it waits for nobody; `always`: also while everything stands still."""

    speak: Speak
    urgent: bool = False
    always: bool = False


@dataclass(slots=True)
class WaitingLines:
    """Who waits for the floor."""

    _lines: deque[Waiting] = field(default_factory=deque)

    def __bool__(self) -> bool:
        return bool(self._lines)

    def add(self, speak: Speak, *, urgent: bool = False, always: bool = False, first: bool = False) -> None:
        """Let `speak` wait, behind all others or before them."""
        (self._lines.appendleft if first else self._lines.append)(Waiting(speak, urgent, always))

    def repeat(self, speak: Speak, *, always: bool = False) -> None:
        """Say it once more, before all others; once is enough."""
        if not self._waits(repeated(speak.cue)):
            self.add(replace(speak, cue=repeated(speak.cue)), always=always, first=True)

    def _waits(self, cue: str) -> bool:
        return any(line.speak.cue == cue for line in self._lines)

    def holds(self, text: str) -> bool:
        """Whether this is about to be said."""
        return any(line.speak.text == text for line in self._lines)

    def ask(self, question: Speak) -> None:
        """A question; one that waits under the same name gets longer: several items left out are one question. Where
        the step's own cue is about to be said again, that asks enough.
        """
        if self._waits(repeated(step_that_starts_anew(question.cue) or "")):
            return
        for index, line in enumerate(self._lines):
            if line.speak.cue == question.cue:
                text = f"{line.speak.text.rstrip('.')}, {question.text}"
                self._lines[index] = replace(line, speak=replace(question, text=text))
                return
        self.add(question)

    def next_line(self, *, standing_still: bool) -> Waiting | None:
        """Whose turn it is: what is urgent, else the first that may be said now. It goes on waiting."""
        urgent = next((line for line in self._lines if line.urgent), None)
        if urgent is not None:
            return urgent
        return next((line for line in self._lines if line.always or not standing_still), None)

    def take(self, line: Waiting) -> None:
        """It has got the floor."""
        self._lines.remove(line)

    def drop_about(self, step: str) -> None:
        """Nothing more is to be asked or read along about a step."""
        self._lines = deque(each for each in self._lines if step_that_starts_anew(each.speak.cue) != step)

    def clear(self) -> None:
        """Nobody waits any more."""
        self._lines.clear()
