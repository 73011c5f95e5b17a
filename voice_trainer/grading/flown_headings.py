"""The heading that a call asks for, held against the heading that is flown.

From when the call is heard, or given up, its heading is owed, until another call that steers is heard or due. A turn
takes its time: only an aeroplane that flies straight is held against it, and not in the first seconds.
"""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.drills.model import Call, Drill
from voice_trainer.flight.courses import signed_difference
from voice_trainer.journal.events import (
    Accepted,
    AnyDecision,
    AnyFact,
    Jumped,
    Position,
    Settled,
    StepBegan,
    WentBack,
)

STEERING = ("turn", "track", "direct", "arc", "missed")
"""What the aeroplane does with its wings."""

STRAIGHT_DEGREES_A_SECOND = 0.5
STRAIGHT_FOR_SECONDS = 5.0
"""Before a turn begins, and between two of them, an aeroplane flies straight for a moment."""


@dataclass(slots=True)
class _Owed:
    step: str
    heading_degrees: float
    since_seconds: float


class FlownHeadings:
    """Follows a journal; knows at any position how far the aeroplane is off the heading that it owes."""

    def __init__(self, drill: Drill) -> None:
        self._headings = {
            (step.step, call.call): heading
            for step in drill.steps
            for call in (step.flow.calls if step.flow else ())
            if (heading := _heading_of(drill, call)) is not None
        }
        self._steering = {
            (step.step, call.call)
            for step in drill.steps
            for call in (step.flow.calls if step.flow else ())
            if call.does in STEERING
        }
        self._steering_steps = {step for step, _ in self._steering}
        self._owed: _Owed | None = None
        self._last: Position | None = None
        self._straight_since_seconds = 0.0

    def follow(self, record: AnyFact | AnyDecision, now_seconds: float) -> None:
        """Take the next record of the journal, no position; a decision has no time of its own."""
        match record:
            case StepBegan(step=step) if step in self._steering_steps:
                self._owed = None
            case Jumped() | WentBack():
                self._owed = None
            case Accepted(step=step, call=call) if (step, call) in self._steering:
                self._owe(step, call, now_seconds)
            case Settled(step=step, call=call, verdict="missed") if (step, call) in self._steering:
                self._owe(step, call, now_seconds)
            case _:
                pass

    def off(self, position: Position) -> tuple[str, float, float] | None:
        """The step whose heading is owed, the heading, and how many degrees off it the aeroplane flies straight on."""
        before, self._last = self._last, position
        owed = self._owed
        if owed is None or before is None or position.at_seconds <= before.at_seconds:
            return None
        seconds = position.at_seconds - before.at_seconds
        turned = abs(signed_difference(before.heading_degrees, position.heading_degrees))
        if turned > STRAIGHT_DEGREES_A_SECOND * seconds:
            self._straight_since_seconds = position.at_seconds
        since_seconds = max(owed.since_seconds, self._straight_since_seconds)
        if position.at_seconds < since_seconds + STRAIGHT_FOR_SECONDS:
            return None
        away = abs(signed_difference(owed.heading_degrees, position.heading_degrees))
        return owed.step, owed.heading_degrees, away

    def _owe(self, step: str, call: str, now_seconds: float) -> None:
        heading = self._headings.get((step, call))
        self._owed = None if heading is None else _Owed(step, heading, now_seconds)


def _heading_of(drill: Drill, call: Call) -> float | None:
    """The heading to which a call turns the aeroplane."""
    if call.does != "turn" or call.need != "required":
        return None
    text = (drill.pattern(call).expected | call.given).get("heading")
    return float(text) if text is not None and text.isdigit() else None
