"""Noticing that the computer slept, or that this program was stopped, between two blocks of a live microphone."""

from __future__ import annotations

import time
from collections.abc import Callable

ASLEEP_AFTER_SECONDS = 4.0
"""Who waits for a block looks at the clock several times a second. A busy machine is not as late as this."""


def clock_that_counts_sleep() -> float:
    """Seconds that go on while the computer sleeps: time.monotonic of Linux does not (clock_gettime(2))."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.time()


class SleepWatch:
    """Ask it after every block. `clock` may be any that does not stand still.

    Tell it, too, while a block is waited for: a device that gives nothing for a while is no sleep.
    """

    def __init__(self, clock: Callable[[], float] = clock_that_counts_sleep) -> None:
        self._clock = clock
        self._last: float | None = None
        self._slept_seconds = 0.0

    def awake(self) -> None:
        """This program runs, and waits."""
        now = self._clock()
        gap = 0.0 if self._last is None else now - self._last
        self._last = now
        if gap > ASLEEP_AFTER_SECONDS:
            self._slept_seconds += gap

    def slept_seconds(self) -> float:
        """How long nothing went on since it was asked last, 0 where it was no longer than usual."""
        self.awake()
        slept_seconds, self._slept_seconds = self._slept_seconds, 0.0
        return slept_seconds

    def begin_anew(self) -> None:
        """The time since it was asked last is accounted for."""
        self._last, self._slept_seconds = None, 0.0
