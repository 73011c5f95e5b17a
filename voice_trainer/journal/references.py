"""What records say of a drill: the steps and calls that they name must be in it, or nothing can be graded by them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import AnyDecision, AnyFact


def unknown_reference_finder(drill: Drill) -> Callable[[AnyFact | AnyDecision], str | None]:
    """For a record: what it names that the drill does not have, in words; None where all is there.

    An empty name is none: words to the trainer need not be about a call.
    """
    calls = {
        step.step: frozenset(call.call for call in step.flow.calls) if step.flow else frozenset()
        for step in drill.steps
    }

    def unknown_in(record: AnyFact | AnyDecision) -> str | None:
        step = getattr(record, "step", "")
        if not step:
            return None
        if step not in calls:
            return f"it names the step {step!r:.80}, which its drill does not have"
        named = (getattr(record, "call", ""), *_names(record, "calls"), *_names(record, "order"))
        missing = next((call for call in named if call and call not in calls[step]), None)
        return (
            None
            if missing is None
            else f"it names the call {missing!r:.80}, which its step {step!r:.80} does not have"
        )

    return unknown_in


def _names(record: Any, field: str) -> tuple[str, ...]:
    """A field of many names; of words to the trainer the order is a text, and names nothing."""
    names = getattr(record, field, ())
    return names if isinstance(names, tuple) else ()
