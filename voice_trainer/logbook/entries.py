"""What the logbook has of a session: itself, the flows that were practised in it, and their calls."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, NamedTuple

from voice_trainer.journal.verdicts import Verdict

Outcome = Literal["failed", "hard", "good", "easy"]
"""How a practised flow went; see `rating`."""

SYNTHETIC_STUDENT = "synthetic student"
"""Whose sessions those of the synthetic student are, unless they were given a name."""


class WordOver(NamedTuple):
    """A word of the right reading over the one that was said; None where there is none.

    `grading.word_pairs` finds them; a tuple of its own, since what that needs takes longer to load than 'due' may take.
    """

    expected: str | None
    said: str | None
    difference: Literal["same", "instead", "left out", "added"]


@dataclass(frozen=True, slots=True)
class CallEntry:
    """What became of a required call.

    `words` is its nearest right reading over what was said, where that had a wrong value; it is () for other calls.
    `after_seconds` is the listening time between the moment at which it could be begun and its beginning, None where it
    was not said; `is_prompt` whether that was soon enough to be prompt.
    """

    call: str
    verdict: Verdict
    expected: str
    said: str
    after_seconds: float | None
    is_prompt: bool
    is_corrected: bool
    words: tuple[WordOver, ...] = ()


@dataclass(frozen=True, slots=True)
class FlowEntry:
    """A flow as it was practised. `ended_utc` is when it was over; `outcome` is None where it gives no rating.

    `in_order` of `pairs` of calls were said in the order that is set for them.
    """

    step: str
    flow: str
    lead_in: str
    level: str
    ended_utc: datetime
    outcome: Outcome | None
    why: str
    in_order: int
    pairs: int
    calls: tuple[CallEntry, ...]


@dataclass(frozen=True, slots=True)
class SessionEntry:
    """A session. `seconds` is how long it lasted, without its pauses; `ended` is '' where its journal breaks off."""

    session: str
    student: str
    started_utc: datetime
    seconds: float
    drill: str
    title: str
    kind: str
    mode: str
    ended: str
    flows: tuple[FlowEntry, ...]


def same_student(name: str) -> str:
    """Students are told apart by this: 'Anna' and 'anna' are one."""
    return name.casefold()
