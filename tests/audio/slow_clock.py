"""The obvious stream clock: it looks at all it knows for each block. What `audio.clock` does must be the same."""

from __future__ import annotations

from collections import deque

import numpy as np

from voice_trainer.audio.clock import PAUSE_SECONDS

_PACE_SECONDS = 4.0
_PROOF_SECONDS = 0.4
_PROOF_BLOCKS = 5
_SMALLEST_GAP_SECONDS = 0.060
_SMALLEST_FLAGGED_GAP_SECONDS = 0.005
_LATENCIES = 1000


class SlowClock:
    """See StreamClock."""

    def __init__(self, rate_hz: int, latency_seconds: float = 0.0) -> None:
        self._rate_hz = rate_hz
        self._arrivals: deque[tuple[float, float]] = deque()  # host time, and that time less the block's end
        self._earliest: float | None = None
        self._latencies: deque[float] = deque(maxlen=_LATENCIES)
        self._assumed_latency_seconds = latency_seconds
        self._origin: float | None = None
        self._before_pause: float | None = None
        self._pause_ended = 0.0

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
            self._before_pause = self._earliest if self._before_pause is None else self._before_pause
            self._pause_ended = arrived_host_seconds
            self._arrivals.clear()
        elif self._before_pause is not None:
            since = arrived_host_seconds - self._pause_ended
            if since >= _PROOF_SECONDS and len(self._arrivals) >= _PROOF_BLOCKS:
                behind = min([late, *(offset for _, offset in self._arrivals)])
                lost_seconds = min(behind, PAUSE_SECONDS + self._before_pause) - self._before_pause
                self._before_pause = None
                if lost_seconds >= _SMALLEST_GAP_SECONDS:
                    lost_frames = round(lost_seconds * self._rate_hz)
                    late -= lost_frames / self._rate_hz
                    self._arrivals = deque((h, o - lost_frames / self._rate_hz) for h, o in self._arrivals)
        else:
            recorded = (
                None if recorded_host_seconds is None else recorded_host_seconds - first_frame / self._rate_hz
            )
            lost_frames = self._lost_frames(late, arrived_host_seconds, recorded if overflowed else None)
            late -= lost_frames / self._rate_hz
        self._arrivals.append((arrived_host_seconds, late))
        while self._arrivals[0][0] < arrived_host_seconds - _PACE_SECONDS:
            self._arrivals.popleft()
        self._earliest = min(offset for _, offset in self._arrivals)
        if recorded_host_seconds is not None and self._before_pause is None:
            recorded = recorded_host_seconds - (first_frame + lost_frames) / self._rate_hz
            self._latencies.append(self._earliest - recorded)
        self._origin = self._earliest - self._latency_seconds()
        return lost_frames

    def frame_seconds(self, host_seconds: float) -> float | None:
        """The stream's time (frame number by rate) at a moment of the host's clock; None before a block."""
        return None if self._origin is None else host_seconds - self._origin

    def _latency_seconds(self) -> float:
        if not self._latencies:
            return self._assumed_latency_seconds
        return max(0.0, float(np.median(np.fromiter(self._latencies, dtype=np.float64))))

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
        since = arrived_host_seconds - 2 * _PROOF_SECONDS
        proof = [(host, offset) for host, offset in self._arrivals if host >= since]
        # Every arrival of the latest stretch must be late, so that a burst after a stall proves nothing.
        late_since = next((i for i in range(len(proof), 0, -1) if not self._is_late(proof[i - 1][1])), 0)
        proof = proof[late_since:]
        if not self._is_late(late) or len(proof) < _PROOF_BLOCKS:
            return 0
        if arrived_host_seconds - proof[0][0] < _PROOF_SECONDS:
            return 0
        frames = round((min(late, *(offset for _, offset in proof)) - self._earliest) * self._rate_hz)
        self._arrivals = deque((host, offset - frames / self._rate_hz) for host, offset in proof)
        return frames

    def _is_late(self, offset: float) -> bool:
        assert self._earliest is not None
        return offset - self._earliest >= _SMALLEST_GAP_SECONDS
