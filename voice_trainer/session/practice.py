"""The plan of a practice session: which flow comes next. Knows no sound, no clock and no logbook.

What is to be practised is given by urgency, the most urgent first. As many as fit into the minutes are taken; of these
the next is the most urgent one of another kind than the last, since what is interleaved is remembered longer than what
is practised in blocks (Rohrer and Taylor 2007, from memory). What failed comes back after another one, until it is
right or the time is over.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from voice_trainer.drills.model import Drill

BETWEEN_SECONDS = 6.0
"""What an item takes beside what is said in it: tones, hesitation, the quiet before the next one (ours)."""

SHORTEST_SECONDS = 12.0
"""Nothing takes less: where less time is left, nothing more is looked for."""

COMES_BACK_AFTER = 1
"""How many others come before what failed comes back (ours)."""


@dataclass(frozen=True, slots=True)
class PracticeItem:
    """A flow to practise: `key` is its drill and step.

    `excerpt` makes its drill for the first, second, ... time, with other numbers where they vary; `seconds` is how
    long that takes, as far as it is known beforehand.
    """

    key: tuple[str, str]
    kind: str
    seconds: float
    excerpt: Callable[[int], Drill] = field(compare=False)


def practice_item(key: tuple[str, str], excerpt: Callable[[int], Drill], pace: float = 1.0) -> PracticeItem:
    """The item of an excerpt, at a pace of speech. Raises what `excerpt` raises."""
    first = excerpt(0)
    return PracticeItem(key, first.kind, first.minutes * 60 / pace + BETWEEN_SECONDS, excerpt)


def fitting(items: Iterable[PracticeItem], seconds: float) -> tuple[PracticeItem, ...]:
    """The items that fit into the time, the urgent ones first; at least one, where there is one.

    No more of `items` is looked at than there is time for.
    """
    taken: list[PracticeItem] = []
    left = seconds
    for item in items:
        if item.seconds <= left or not taken:
            taken.append(item)
            left -= item.seconds
        if left < SHORTEST_SECONDS:
            break
    return tuple(taken)


class PracticePlan:
    """Hands out the items of one session of `seconds`, one after the other."""

    def __init__(self, items: Iterable[PracticeItem], seconds: float) -> None:
        self.seconds = seconds
        self.items = fitting(items, seconds)
        self.spent_seconds = 0.0
        self._waiting = list(self.items)
        self._back: list[tuple[int, PracticeItem]] = []
        self._last_kind = ""
        self._times: dict[tuple[str, str], int] = {}

    @property
    def is_over(self) -> bool:
        """Whether nothing is left, or no time."""
        return self.spent_seconds >= self.seconds or not (self._waiting or self._back)

    def next(self) -> tuple[PracticeItem, int] | None:
        """The next item, and how often it was there before; None where the session is over."""
        if self.is_over:
            return None
        item = self._take()
        self._last_kind = item.kind
        times = self._times.get(item.key, 0)
        self._times[item.key] = times + 1
        return item, times

    def done(self, item: PracticeItem, seconds: float, *, failed: bool) -> None:
        """An item is over, after so many seconds; what failed will come back. It may be done again at once."""
        self.spent_seconds += seconds
        self._back = [(others - 1, each) for others, each in self._back if each.key != item.key]
        if failed:
            self._back.append((COMES_BACK_AFTER, item))

    def _take(self) -> PracticeItem:
        ready = next((each for each in self._back if each[0] <= 0 or not self._waiting), None)
        if ready is not None:
            self._back.remove(ready)
            return ready[1]
        other = next((each for each in self._waiting if each.kind != self._last_kind), self._waiting[0])
        self._waiting.remove(other)
        return other
