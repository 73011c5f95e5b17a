"""A stretch of a microphone's time with a clock of its own: second 0 is where the stretch begins.

One microphone and one speaker stay open for several sessions, one after the other. Each session counts its samples
from zero, as its journal does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Block, Microphone, PlaybackEvent, Samples, Speaker


class MicrophoneStretch:
    """`microphone` from its sample `first_sample` on. Closing it leaves the microphone open for the next stretch."""

    def __init__(self, microphone: Microphone, first_sample: int) -> None:
        self.name = microphone.name
        self._microphone = microphone
        self._first_sample = first_sample
        self.next_sample = first_sample
        """Where, by the microphone's own count, the next stretch may begin."""

    def read(self) -> Block | None:
        """See Microphone."""
        block = self._microphone.read()
        if block is None:
            return None
        self.next_sample = block.first_sample + len(block.samples)
        return replace(block, first_sample=block.first_sample - self._first_sample)

    def session_seconds(self, host_seconds: float) -> float:
        """See Microphone."""
        return self._microphone.session_seconds(host_seconds) - self._first_sample / SAMPLE_RATE_HZ

    def reopen(self) -> bool:
        """See Microphone."""
        return self._microphone.reopen()

    def close(self) -> None:
        """Nothing: whoever opened the microphone closes it."""


class SpeakerStretch:
    """`speaker`, its events on the clock of a microphone's stretch that begins at `first_sample`."""

    def __init__(self, speaker: Speaker, first_sample: int) -> None:
        self.name = speaker.name
        self._speaker = speaker
        self._began_seconds = first_sample / SAMPLE_RATE_HZ

    def play(self, name: str, clip: Samples) -> None:
        """See Speaker."""
        self._speaker.play(name, clip)

    def stop(self) -> None:
        """See Speaker."""
        self._speaker.stop()

    def events(self, now_seconds: float) -> list[PlaybackEvent]:
        """See Speaker."""
        happened = self._speaker.events(now_seconds + self._began_seconds)
        return [replace(event, at_seconds=event.at_seconds - self._began_seconds) for event in happened]

    def reopen(self) -> bool:
        """See Speaker."""
        return self._speaker.reopen()

    def close(self) -> None:
        """Nothing: whoever opened the speaker closes it."""


def in_stretch(
    say: Callable[[float, Samples], float], first_sample: int
) -> Callable[[float, Samples], float]:
    """`ScheduledSource.say`, its times on the clock of a stretch that begins at `first_sample`."""
    began_seconds = first_sample / SAMPLE_RATE_HZ
    return lambda at_seconds, clip: say(at_seconds + began_seconds, clip) - began_seconds
