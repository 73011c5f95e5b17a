"""What was said while sound was lost has not been heard whole, whatever the recogniser makes of the rest.

A hearing that sound was lost in is unclear: the student is asked again, and nothing is held against them.
"""

from __future__ import annotations

from voice_trainer.journal.events import AnyFact, Heard
from voice_trainer.journal.hearing import Hearing

HARMLESS_SECONDS = 0.2
"""Less than this, all together, takes no word out of an utterance (ours)."""

_FOUND_LATE_SECONDS = 0.5
"""A loss that the driver doesn't tell of is found, and its silence put in, at most this long after it was."""

_FORGOTTEN_AFTER_SECONDS = 120.0


class LostSound:
    """The stretches in which sound was lost, as far back as they matter."""

    def __init__(self) -> None:
        self._stretches: list[tuple[float, float, float]] = []  # start, end, how much of it was lost

    def lose(self, start_seconds: float, end_seconds: float) -> None:
        """Nothing was recorded of this stretch."""
        self._note(start_seconds, end_seconds, end_seconds - start_seconds)

    def break_off(self, at_seconds: float) -> None:
        """An unknown time was lost there, that the session has not counted."""
        self._note(at_seconds, at_seconds, HARMLESS_SECONDS)

    def judge(self, fact: AnyFact) -> AnyFact:
        """The fact; a hearing that sound was lost in comes back as an unclear one."""
        if not isinstance(fact, Heard) or not self._harmed(fact.hearing):
            return fact
        return fact.model_copy(update={"hearing": fact.hearing.model_copy(update={"clarity": "unclear"})})

    def _note(self, start: float, end: float, lost: float) -> None:
        self._stretches = [each for each in self._stretches if each[1] > start - _FORGOTTEN_AFTER_SECONDS]
        self._stretches.append((start, end, lost))

    def _harmed(self, hearing: Hearing) -> bool:
        until = hearing.end_seconds + _FOUND_LATE_SECONDS
        lost = [n for start, end, n in self._stretches if start <= until and end >= hearing.start_seconds]
        return sum(lost) >= HARMLESS_SECONDS - 1e-9
