"""The clock that windows are measured by: it runs only while the student could be heard.

While the trainer speaks, is deaf, or the session is paused, and where sound was lost, nothing can become late or
missed, so this clock stands still: once for all reasons together, however they overlap.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class ListeningClock:
    """Maps session seconds to listening seconds and back.

    `intervals` holds (start, end, stopped before start) for each stretch in which the clock stood still, in
    order; `reasons` what stops it now, since `stopped_since`.
    """

    intervals: tuple[tuple[float, float, float], ...] = ()
    reasons: frozenset[str] = frozenset()
    stopped_since: float = 0.0

    def stop(self, reason: str, at_seconds: float) -> ListeningClock:
        """The clock stands still from `at_seconds`, until every reason is gone."""
        since = self.stopped_since if self.reasons else max(at_seconds, self._last_end)
        return replace(self, reasons=self.reasons | {reason}, stopped_since=since)

    def start(self, reason: str, at_seconds: float) -> ListeningClock:
        """`reason` is gone at `at_seconds`; without a reason left the clock runs again."""
        if reason not in self.reasons:
            return self
        left = self.reasons - {reason}
        if left or at_seconds <= self.stopped_since:
            return replace(self, reasons=left)
        interval = (self.stopped_since, at_seconds, self._total)
        return replace(self, reasons=left, intervals=(*self.intervals, interval))

    def stood_still(self, start_seconds: float, end_seconds: float) -> ListeningClock:
        """Nothing could be heard from one moment to the other, as is known now that it is over."""
        lost = "sound was lost"
        return self.stop(lost, start_seconds).start(lost, end_seconds)

    @property
    def _last_end(self) -> float:
        return self.intervals[-1][1] if self.intervals else 0.0

    @property
    def _total(self) -> float:
        if not self.intervals:
            return 0.0
        start, end, before = self.intervals[-1]
        return before + end - start

    def reading(self, session_seconds: float) -> float:
        """Listening seconds at a moment of the session."""
        if self.reasons and session_seconds > self.stopped_since:
            return self.stopped_since - self._total
        index = bisect_right(self.intervals, session_seconds, key=lambda interval: interval[0]) - 1
        if index < 0:
            return session_seconds
        start, end, before = self.intervals[index]
        return (
            min(session_seconds, start) - before
            if session_seconds <= end
            else session_seconds - before - (end - start)
        )

    def moment(self, listening_seconds: float) -> float:
        """The first moment of the session at which the clock read `listening_seconds`."""
        return self._moment(listening_seconds, last=False)

    def last_moment(self, listening_seconds: float) -> float:
        """The last one: where the clock stood still at that reading, when it went on."""
        return self._moment(listening_seconds, last=True)

    def _moment(self, listening_seconds: float, *, last: bool) -> float:
        for start, end, before in reversed(self.intervals):
            stood_at = start - before
            # Two ways to the same reading may differ in the last bit.
            if listening_seconds > stood_at or (last and listening_seconds > stood_at - 1e-9):
                return listening_seconds + before + (end - start)
        return listening_seconds
