"""When the samples of a live stream were recorded, on the host's monotonic clock.

Two things are known of every block that arrives: the moment of its arrival, and the moment at which the
driver says that it was recorded. On a sound server the second one is smoothed over many seconds and wanders
by ten milliseconds; the first one is late whenever the machine is busy, but the *earliest* arrivals, counted
from the block's own number of samples, repeat to a tenth of a millisecond. So the running minimum of the
arrivals gives the stream's pace, and the median of what the driver says gives how long before its arrival a
sample was recorded.

Samples that were lost show as arrivals that stay late: the minimum of the last half second is higher than it
was. A stall of this process looks like that only until the blocks that were waiting have been taken in.

After a gap of more than PAUSE_SECONDS the pace is taken anew at once: the session stood still. Whether anything was
lost in it is known as soon as the blocks that were waiting would be in, and then PAUSE_SECONDS of silence stand for it.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import deque

PAUSE_SECONDS = 1.0
"""A gap longer than this is a pause: a suspended laptop, a stopped process, a sound server that hangs. What is lost
counts as silence up to this length; the rest of it is no time of the session."""

_PACE_SECONDS = 4.0
_PROOF_SECONDS = 0.4
_PROOF_BLOCKS = 5
_SMALLEST_GAP_SECONDS = 0.060  # some drivers deliver by turns one and two periods of 25 ms
_SMALLEST_FLAGGED_GAP_SECONDS = 0.005
_LATENCIES = 1000


class HostOffset:
    """What to add to PortAudio's clock to get the host's monotonic one.

    PortAudio's may be the time of day, which is set now and then. Every callback gives one measurement that
    is too large by the delay with which Python was called: the smallest of the latest ones is used. One
    thread may measure while another one asks.
    """

    def __init__(self) -> None:
        self._differences: deque[float] = deque(maxlen=64)
        self._smallest = 0.0

    def seen(self, host_seconds: float, stream_seconds: float) -> None:
        """Note that the stream's clock said `stream_seconds` just before the host's said `host_seconds`."""
        self._differences.append(host_seconds - stream_seconds)
        self._smallest = min(self._differences)

    def host_seconds(self, stream_seconds: float) -> float:
        """The host's time of a moment on the stream's clock."""
        return stream_seconds + self._smallest


class _LatestMedian:
    """The median of the latest numbers, kept in order so that a new one costs little."""

    def __init__(self, count: int) -> None:
        self._count = count
        self._latest: deque[float] = deque()
        self._ordered: list[float] = []

    def add(self, number: float) -> None:
        if len(self._latest) == self._count:
            del self._ordered[bisect_left(self._ordered, self._latest.popleft())]
        self._latest.append(number)
        insort(self._ordered, number)

    def median(self) -> float | None:
        """None of no numbers."""
        if not self._ordered:
            return None
        middle = len(self._ordered) // 2
        if len(self._ordered) % 2:
            return self._ordered[middle]
        return (self._ordered[middle - 1] + self._ordered[middle]) / 2


class StreamClock:
    """The relation between the frame numbers of one input stream and the host's monotonic clock.

    `latency_seconds` is what to assume when the driver gives no times of recording. Reading it while another
    thread adds blocks is safe.
    """

    def __init__(self, rate_hz: int, latency_seconds: float = 0.0) -> None:
        self._rate_hz = rate_hz
        self._arrivals: deque[tuple[float, float]] = deque()  # host time, and that time less the block's end
        # Those arrivals that are the earliest of all since, so that the first is the earliest of all.
        self._earliest_since: deque[tuple[float, float]] = deque()
        self._earliest: float | None = None
        self._latencies = _LatestMedian(_LATENCIES)
        self._assumed_latency_seconds = latency_seconds
        self._origin: float | None = None
        self._before_pause: float | None = None
        self._pause_ended_host_seconds = 0.0

    def block(
        self,
        first_frame: int,
        frames: int,
        arrived_host_seconds: float,
        recorded_host_seconds: float | None,
        overflowed: bool = False,
    ) -> int:
        """Take in a block that would begin at `first_frame` if nothing was lost before it.

        `recorded_host_seconds` is the driver's word on when its first frame was recorded, None without one;
        `overflowed` its word that something was lost. Returns how many frames are missing in front of it: the
        block then begins that much later.
        """
        late = arrived_host_seconds - (first_frame + frames) / self._rate_hz
        lost_frames = 0
        if self._arrivals and arrived_host_seconds - self._arrivals[-1][0] > PAUSE_SECONDS:
            if self._before_pause is None:
                self._before_pause = self._earliest
            self._pause_ended_host_seconds = arrived_host_seconds
            self._arrivals.clear()
            self._earliest_since.clear()
        elif self._before_pause is not None:
            lost_frames = self._lost_in_pause(late, arrived_host_seconds)
            late -= lost_frames / self._rate_hz
        else:
            recorded = (
                None if recorded_host_seconds is None else recorded_host_seconds - first_frame / self._rate_hz
            )
            lost_frames = self._lost_frames(late, arrived_host_seconds, recorded if overflowed else None)
            late -= lost_frames / self._rate_hz
        self._arrived(arrived_host_seconds, late)
        self._earliest = self._earliest_since[0][1]
        if (
            recorded_host_seconds is not None and self._before_pause is None
        ):  # the earliest may be still to come
            recorded = recorded_host_seconds - (first_frame + lost_frames) / self._rate_hz
            self._latencies.add(self._earliest - recorded)
        self._origin = self._earliest - self._latency_seconds()
        return lost_frames

    def frame_seconds(self, host_seconds: float) -> float | None:
        """The stream's time (frame number by rate) at a moment of the host's clock; None before a block."""
        return None if self._origin is None else host_seconds - self._origin

    def _arrived(self, host_seconds: float, late: float) -> None:
        self._arrivals.append((host_seconds, late))
        while self._earliest_since and self._earliest_since[-1][1] >= late:
            self._earliest_since.pop()
        self._earliest_since.append((host_seconds, late))
        for arrivals in (self._arrivals, self._earliest_since):
            while arrivals[0][0] < host_seconds - _PACE_SECONDS:
                arrivals.popleft()

    def _latency_seconds(self) -> float:
        median = self._latencies.median()
        return self._assumed_latency_seconds if median is None else max(0.0, median)

    def _lost_frames(
        self, late: float, arrived_host_seconds: float, flagged_recorded_seconds: float | None
    ) -> int:
        """The frames that are missing in front of this block, as far as that can be said now.

        `flagged_recorded_seconds` is when the driver says the block was recorded, less the block's own time
        in the stream; only where it also says that something was lost.
        """
        if self._earliest is None or self._origin is None:
            return 0
        if flagged_recorded_seconds is not None:
            gap_seconds = flagged_recorded_seconds - self._origin
            if gap_seconds >= _SMALLEST_FLAGGED_GAP_SECONDS:
                return round(gap_seconds * self._rate_hz)
        if not self._is_late(late):
            return 0
        since = arrived_host_seconds - 2 * _PROOF_SECONDS
        proof = [(host, offset) for host, offset in self._arrivals if host >= since]
        # Every arrival of the latest stretch must be late, so that a burst after a stall proves nothing.
        late_since = next((i for i in range(len(proof), 0, -1) if not self._is_late(proof[i - 1][1])), 0)
        proof = proof[late_since:]
        if len(proof) < _PROOF_BLOCKS:
            return 0
        if arrived_host_seconds - proof[0][0] < _PROOF_SECONDS:
            return 0
        frames = round((min(late, *(offset for _, offset in proof)) - self._earliest) * self._rate_hz)
        self._arrivals.clear()
        self._earliest_since.clear()
        for host, offset in proof:
            self._arrived(host, offset - frames / self._rate_hz)
        return frames

    def _lost_in_pause(self, late: float, arrived_host_seconds: float) -> int:
        """The silence that stands for what was lost in the last pause, once that is known; 0 where nothing was."""
        assert self._before_pause is not None
        since = arrived_host_seconds - self._pause_ended_host_seconds
        if since < _PROOF_SECONDS or len(self._arrivals) < _PROOF_BLOCKS:
            return 0
        lost_seconds = min(
            late, *(offset for _, offset in self._arrivals), PAUSE_SECONDS + self._before_pause
        )
        lost_seconds -= self._before_pause
        self._before_pause = None
        if lost_seconds < _SMALLEST_GAP_SECONDS:
            return 0
        frames = round(lost_seconds * self._rate_hz)
        arrivals = list(self._arrivals)
        self._arrivals.clear()
        self._earliest_since.clear()
        for host, offset in arrivals:
            self._arrived(host, offset - frames / self._rate_hz)
        return frames

    def _is_late(self, offset: float) -> bool:
        assert self._earliest is not None
        return offset - self._earliest >= _SMALLEST_GAP_SECONDS
