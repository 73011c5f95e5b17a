"""What can be due: a flow, by its drill and step, with what is said to lead into it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # what is kept in the logbook is read without any drill
    from voice_trainer.drills.model import Drill, Step


@dataclass(frozen=True, slots=True)
class Item:
    """A flow of a drill; `lead_in` is spoken before it, so that a student knows where they are."""

    drill: str
    step: str
    flow: str
    title: str
    kind: str
    lead_in: str

    @property
    def key(self) -> tuple[str, str]:
        """Drill and step: a step has one flow at most."""
        return (self.drill, self.step)


def items_of(drills: Iterable[Drill]) -> tuple[Item, ...]:
    """Every flow that can be practised, in order: those with a required call."""
    return tuple(
        Item(drill.drill, step.step, step.flow.name, drill.title, drill.kind, lead_in(drill, step))
        for drill in drills
        for step in drill.steps
        if step.flow is not None and any(call.need == "required" for call in step.flow.calls)
    )


def lead_in(drill: Drill, step: Step) -> str:
    """Which drill and which moment, in words to be spoken.

    Then comes the step's own cue. A step without one is led into by the last cue before it, or by what it waits for.
    """
    before = drill.steps[: drill.steps.index(step)]
    last = next((each for each in reversed(before) if each.cue is not None), None)
    parts = [drill.title, step.step]
    if step.cue is not None:
        parts.append(drill.spoken(step.cue))
    elif step.when not in ("start", "settled"):
        parts.append(step.when)
    elif last is not None and last.cue is not None:
        parts.append(drill.spoken(last.cue))
    return " ".join(part if part.endswith((".", "?", "!")) else f"{part}." for part in parts)
