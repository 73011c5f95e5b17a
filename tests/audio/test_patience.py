"""Opening a device is tried again where that may help, and nowhere else."""

from __future__ import annotations

import pytest

from voice_trainer.audio.devices import AudioDevices
from voice_trainer.audio.errors import AudioError, PassingAudioError
from voice_trainer.audio.patience import OPENING_WAITS_SECONDS, opening_error, patiently

HOST_ERROR, TIMED_OUT, DEVICE_UNAVAILABLE = -9999, -9987, -9985
INVALID_RATE, INVALID_DEVICE, INVALID_CHANNELS = -9997, -9996, -9998


class Door:
    """Opens at the attempt of that number."""

    def __init__(self, opens_at: int, kind: type[AudioError] = PassingAudioError) -> None:
        self.attempts = 0
        self.waited: list[float] = []
        self._opens_at = opens_at
        self._kind = kind

    def open(self) -> str:
        self.attempts += 1
        if self.attempts < self._opens_at:
            raise self._kind(f"attempt {self.attempts} failed")
        return "open"


@pytest.mark.parametrize("opens_at", range(1, len(OPENING_WAITS_SECONDS) + 2))
def test_what_may_pass_is_tried_again_with_growing_waits(opens_at: int) -> None:
    door = Door(opens_at)
    assert patiently(door.open, door.waited.append) == "open"
    assert door.attempts == opens_at
    assert door.waited == list(OPENING_WAITS_SECONDS[: opens_at - 1])
    assert door.waited == sorted(door.waited)


def test_what_does_not_pass_is_told_in_the_end() -> None:
    door = Door(100)
    with pytest.raises(AudioError, match="attempt 4 failed"):
        patiently(door.open, door.waited.append)
    assert len(door.waited) == len(OPENING_WAITS_SECONDS)


def test_what_is_wrong_is_refused_at_once() -> None:
    door = Door(2, AudioError)
    with pytest.raises(AudioError, match="attempt 1 failed"):
        patiently(door.open, door.waited.append)
    assert door.waited == []


@pytest.mark.parametrize(
    ("code", "passes"),
    [
        (HOST_ERROR, True),
        (TIMED_OUT, True),
        (DEVICE_UNAVAILABLE, True),
        (INVALID_RATE, False),
        (INVALID_DEVICE, False),
        (INVALID_CHANNELS, False),
    ],
)
def test_portaudios_errors_are_told_apart(code: int, passes: bool) -> None:
    sounddevice = pytest.importorskip("sounddevice")
    error = opening_error("the microphone 'x' can't be opened", sounddevice.PortAudioError("text", code))
    assert isinstance(error, PassingAudioError) == passes
    assert str(error) == "the microphone 'x' can't be opened"


def test_no_device_at_all_may_pass_and_a_wrong_name_does_not() -> None:
    with pytest.raises(PassingAudioError):
        AudioDevices((), (), None, None).find("headset", "input")
