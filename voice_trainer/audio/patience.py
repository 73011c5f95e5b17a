"""Opening a device is tried again where what is in the way may pass.

A sound server that is starting, a machine that is busy, a device that another program is letting go: PortAudio reports
a time-out or an error of the system below it, and the same a moment later succeeds. A device of which the name is
wrong, or a rate that it does not take, stays so: that is refused at once.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any, TypeVar

from voice_trainer.audio.errors import AudioError, PassingAudioError

OPENING_WAITS_SECONDS = (0.25, 0.5, 1.0)
"""How long to wait before each further try (ours)."""

_PASSING_CODES = frozenset((-9999, -9992, -9987, -9986, -9985))
"""Of PaErrorCode in portaudio.h: paUnanticipatedHostError, paInsufficientMemory, paTimedOut, paInternalError and
paDeviceUnavailable."""

T = TypeVar("T")


def opening_error(line: str, error: Any) -> AudioError:
    """What to raise with `line` for a PortAudioError: one that says whether trying again may help."""
    code = error.args[1] if len(error.args) > 1 else None
    return PassingAudioError(line) if code in _PASSING_CODES else AudioError(line)


def patiently(attempt: Callable[[], T], sleep: Callable[[float], None] = time.sleep) -> T:
    """What `attempt` returns; it is tried again while it raises PassingAudioError, the last of which is passed on."""
    for wait_seconds in OPENING_WAITS_SECONDS:
        try:
            return attempt()
        except PassingAudioError:
            sleep(wait_seconds)
    return attempt()
