"""Push to talk: only what is said while a key is held, or between two presses of it, is listened to.

A terminal tells of presses and of their repetition while a key is held, never that it was let go. So presses that
follow each other as fast as a repetition are one that is held, and it was let go when they stop.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from voice_trainer.audio.ports import Block, Microphone

FIRST_REPEAT_SECONDS = 0.75
"""A held key repeats after 0.25 to 0.66 seconds (the usual settings); a call takes longer than this."""

LET_GO_SECONDS = 0.3
"""A held key repeats at least ten times a second: so long after the last repetition it was let go."""

LONGEST_SECONDS = 60.0
"""A key pressed once and forgotten."""


class PushToTalk:
    """Whether to listen. Times in seconds, never going back."""

    def __init__(self) -> None:
        self._opened: float | None = None
        self._last = 0.0
        self._held = False

    @property
    def open(self) -> bool:
        """Whether what is said now is meant to be heard."""
        return self._opened is not None

    def press(self, now_seconds: float) -> None:
        """The key was pressed, or repeats itself because it is held."""
        self.tick(now_seconds)
        if self._opened is None:
            self._opened, self._held = now_seconds, False
        elif self._held or now_seconds - self._opened < FIRST_REPEAT_SECONDS:
            self._held = True
        else:
            self._opened = None
        self._last = now_seconds

    def tick(self, now_seconds: float) -> None:
        """Time has passed."""
        if self._opened is None:
            return
        let_go = self._held and now_seconds - self._last > LET_GO_SECONDS
        if let_go or now_seconds - self._opened > LONGEST_SECONDS:
            self._opened = None


class GatedMicrophone:
    """`microphone`, silent while nobody pushes to talk: what is said then is not even looked at."""

    def __init__(self, microphone: Microphone, gate: PushToTalk) -> None:
        self.name = microphone.name
        self._microphone = microphone
        self._gate = gate

    def read(self) -> Block | None:
        """See Microphone."""
        block = self._microphone.read()
        if block is None or self._gate.open:
            return block
        return replace(block, samples=np.zeros_like(block.samples))

    def session_seconds(self, host_seconds: float) -> float:
        """See Microphone."""
        return self._microphone.session_seconds(host_seconds)

    def reopen(self) -> bool:
        """See Microphone."""
        return self._microphone.reopen()

    def close(self) -> None:
        """See Microphone."""
        self._microphone.close()
