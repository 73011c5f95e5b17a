"""Which step begins when. Steps begin in the drill's order, each when its condition has come true."""

from __future__ import annotations

from dataclasses import dataclass, field

from voice_trainer.drills.conditions import OF_THE_DRILL, is_met
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

    @property
    def begun(self) -> tuple[str, ...]:
        """The steps that have begun, in order."""
        return tuple(step.step for step in self.drill.steps[: self.next_index])

    def last_begun(self) -> Step | None:
        """The last step that began with an event of the flight; before the first of these, the last that began."""
        begun = self.drill.steps[: self.next_index]
        flown = [step for step in begun if step.when not in OF_THE_DRILL]
        return next(reversed(flown or begun), None)

    def waits_for(self) -> str | None:
        """The event of the flight that the next step waits for, None where it waits for nothing of the kind."""
        step = self.next_step
        waits = step is not None and step.when not in OF_THE_DRILL and self._due_at is None
        return step.when if step is not None and waits else None

    def go_back(self, step: str, running_seconds: float) -> None:
        """Begin again with `step`, at once."""
        names = [each.step for each in self.drill.steps]
        self.next_index = names.index(step)
        self.settled -= set(names[self.next_index :])
        self._events_since.clear()
        self._due_at = running_seconds

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
