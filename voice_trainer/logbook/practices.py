"""Practised flows as they are read out of the logbook, without their calls."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from voice_trainer.logbook.entries import Outcome, WordOver


class Practice(NamedTuple):
    """A flow, practised once; a tuple, since there are thousands.

    The counts are of its required calls that count for or against the student; `after_seconds` is the sum over the
    `said` ones. `is_rated_level`: not at a level that shows nothing.
    """

    drill: str
    step: str
    flow: str
    title: str
    kind: str
    lead_in: str
    ended_utc: datetime
    outcome: Outcome | None
    why: str
    is_rated_level: bool
    calls: int
    said: int
    right: int
    timely: int
    prompt: int
    after_seconds: float
    in_order: int
    pairs: int

    @property
    def key(self) -> tuple[str, str]:
        """Drill and step."""
        return (self.drill, self.step)


@dataclass(frozen=True, slots=True)
class SaidInstead:
    """What was said with a wrong value, and how often; `words` hold it against what was right the last time."""

    said: str
    times: int
    words: tuple[WordOver, ...]


@dataclass(frozen=True, slots=True)
class WeakCall:
    """A call that went wrong, how often of how many `times`, and what was said in its place, the most frequent first.

    `wrong` is with a wrong value, `other` late, early, out of order or incomplete.
    """

    drill: str
    step: str
    call: str
    expected: str
    times: int
    missed: int
    wrong: int
    other: int
    said_instead: tuple[SaidInstead, ...]

    @property
    def faults(self) -> int:
        """How often it was not right."""
        return self.missed + self.wrong + self.other
