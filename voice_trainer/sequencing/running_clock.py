"""The clock that steps and flight run on: the session's, less the stretches in which everything stands still."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True)
class RunningClock:
    """Stands still while there is a reason to, once for all reasons together, however they overlap."""

    reasons: set[str] = field(default_factory=set)
    _since: float = 0.0
    _total: float = 0.0

    @property
    def stands_still(self) -> bool:
        """Whether there is a reason to."""
        return bool(self.reasons)

    def stop(self, reason: str, at_seconds: float) -> None:
        """Stand still from `at_seconds` of the session, if it doesn't yet."""
        if not self.reasons:
            self._since = at_seconds
        self.reasons.add(reason)

    def start(self, reason: str, at_seconds: float) -> None:
        """`reason` is gone; run again when it was the last one."""
        if reason not in self.reasons:
            return
        self.reasons.discard(reason)
        if not self.reasons:
            self._total += at_seconds - self._since

    def reading(self, session_seconds: float) -> float:
        """Session time less the time stood still so far."""
        return (self._since if self.reasons else session_seconds) - self._total
