"""What a session needs of the audio hardware, and the one clock that everything is timed by.

The master clock is the sample count of the microphone's stream: second `t` of a session is sample
`t * SAMPLE_RATE_HZ`. Samples that the device lost come back as silence, so the count never slips. What a
speaker plays is reported on the same clock.

Two microphones and two speakers implement these protocols: the live ones (`live`), over sounddevice, and the
virtual ones (`virtual`), in which time is the number of blocks read so far: the same session code then runs
as fast as the machine can.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

SAMPLE_RATE_HZ = 16_000
BLOCK_SAMPLES = 512
"""32 ms, the chunk that the voice activity detector takes."""

Samples = NDArray[np.int16]
"""Mono PCM at SAMPLE_RATE_HZ, shape (n,)."""


@dataclass(frozen=True, slots=True)
class Block:
    """BLOCK_SAMPLES samples of the microphone, the first of which is number `first_sample` of the session.

    `lost_samples` of them were never delivered by the device and are silence in `samples`.
    """

    first_sample: int
    samples: Samples
    lost_samples: int = 0

    @property
    def end_seconds(self) -> float:
        """The session time just after this block."""
        return (self.first_sample + len(self.samples)) / SAMPLE_RATE_HZ


@dataclass(frozen=True, slots=True)
class PlaybackEvent:
    """A clip that was given to `Speaker.play` under `name` began to sound, or ended (or was stopped)."""

    kind: Literal["started", "ended"]
    name: str
    at_seconds: float
    complete: bool = True


class Microphone(Protocol):
    """A stream of blocks without gaps."""

    name: str

    def read(self) -> Block | None:
        """The next block, waiting for it if need be; None at the end of the input (a file).

        Raises DeviceLostError when the device has gone.
        """

    def session_seconds(self, host_seconds: float) -> float:
        """The session time of a moment of the host's monotonic clock (`time.monotonic`)."""

    def reopen(self) -> bool:
        """After DeviceLostError: try to go on with the same device; the sample count continues."""

    def close(self) -> None:
        """Release the device; reading after it returns None."""


class Speaker(Protocol):
    """Plays one clip at a time."""

    name: str

    def play(self, name: str, clip: Samples) -> None:
        """Begin to play `clip` as soon as possible; a clip that still sounds is stopped first."""

    def stop(self) -> None:
        """Fall silent."""

    def events(self, now_seconds: float) -> list[PlaybackEvent]:
        """What has happened up to session time `now_seconds` since the last call, in order."""

    def reopen(self) -> bool:
        """After DeviceLostError: try to go on with the same device."""

    def close(self) -> None:
        """Release the device, letting what sounds come to its end."""
