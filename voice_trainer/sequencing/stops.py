"""Stop and correct: which calls everything has to stand still for, and for how long.

A wrong value waits for the thinking pause, since students correct themselves and go on; a missed call is known to be
one when its flow is over. All that is wrong in one step is put right together.
"""

from __future__ import annotations

from dataclasses import dataclass, field

LIMIT_SECONDS = 12.0
LIMIT_FOR_EACH_CALL_SECONDS = 4.0
"""How long the trainer waits for the right call, after it has said it (ours)."""


@dataclass(slots=True)
class Stops:
    """`step` is the one that is put right now, `owed` the calls that it still waits for."""

    step: str | None = None
    owed: list[str] = field(default_factory=list)
    _wanted: dict[tuple[str, str], float] = field(default_factory=dict)
    _until: float | None = None

    def __bool__(self) -> bool:
        return self.step is not None or bool(self._wanted)

    def want(self, step: str, call: str, not_before: float) -> None:
        """A call is wrong or missed."""
        self._wanted.setdefault((step, call), not_before)

    def put_off(self, until: float) -> None:
        """The student has said something, and may be about to go on."""
        self._wanted = {call: max(before, until) for call, before in self._wanted.items()}

    def no_longer(self, step: str, call: str) -> None:
        """It was put right, by the student alone, or is disputed."""
        self._wanted.pop((step, call), None)
        if step == self.step and call in self.owed:
            self.owed.remove(call)

    def due(self, now: float) -> tuple[str, tuple[str, ...]] | None:
        """The step to stop for now, and its calls."""
        if self.step is not None:
            return None
        step = next((step for (step, _), not_before in self._wanted.items() if not_before <= now), None)
        if step is None:
            return None
        return step, tuple(call for each, call in self._wanted if each == step)

    def begin(self, step: str, calls: tuple[str, ...]) -> None:
        """Everything stands still."""
        self.step, self.owed, self._until = step, list(calls), None
        for call in calls:
            self._wanted.pop((step, call), None)

    def explained(self, now: float) -> None:
        """The trainer has said what is right, or the session has gone on after a pause: wait from here on."""
        if self.step is not None:
            self._until = now + LIMIT_SECONDS + LIMIT_FOR_EACH_CALL_SECONDS * (len(self.owed) - 1)

    def give_time(self, now: float, seconds: float) -> None:
        """Whoever says 'stand by' is waited for so much longer."""
        if self._until is not None:
            self._until = max(self._until, now + seconds)

    def is_over(self, now: float) -> bool:
        """Whether nothing is waited for any more."""
        return self.step is not None and (not self.owed or (self._until is not None and now >= self._until))

    def end(self) -> None:
        """It goes on."""
        self.step, self.owed, self._until = None, [], None

    def forget(self) -> None:
        """Nothing is to be put right."""
        self.end()
        self._wanted.clear()
