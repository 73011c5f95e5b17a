"""Which step begins when. Steps begin in the drill's order, each when its condition has come true."""

from __future__ import annotations

from dataclasses import dataclass, field

from voice_trainer.drills.conditions import is_met
from voice_trainer.drills.model import Drill, Step


@dataclass(slots=True)
class StepRunner:
    """Follows a drill's steps on the running clock (session time less pauses).

    What the flight did since the last step began is remembered: a station that is crossed while the trainer
    still speaks has been crossed.
    """

    drill: Drill
    next_index: int = 0
    settled: set[str] = field(default_factory=set)
    _events_since: list[str] = field(default_factory=list)
    _due_at: float | None = None

    @property
    def next_step(self) -> Step | None:
        """The step that waits for its condition, None when all have begun."""
        return self.drill.steps[self.next_index] if self.next_index < len(self.drill.steps) else None

    @property
    def all_settled(self) -> bool:
        """Whether every step has begun and is settled."""
        return self.next_step is None and all(step.step in self.settled for step in self.drill.steps)

    def note_flown(self, name: str) -> None:
        """An event of the flight happened."""
        self._events_since.append(name)

    def note_settled(self, step: str) -> None:
        """A step's flow is closed (or it has none and its cue is over)."""
        self.settled.add(step)

    def due(self, running_seconds: float) -> Step | None:
        """The step that begins now, if one does."""
        step = self.next_step
        if step is None:
            return None
        if self._due_at is None:
            if not self._condition_met(step):
                return None
            self._due_at = running_seconds + step.after_seconds
        if running_seconds < self._due_at:
            return None
        self.next_index += 1
        self._events_since.clear()
        self._due_at = None
        return step

    def _condition_met(self, step: Step) -> bool:
        if step.when == "start":
            return True
        if step.when == "settled":
            return self.next_index == 0 or self.drill.steps[self.next_index - 1].step in self.settled
        return any(is_met(step.when, name) for name in self._events_since)
