"""What can go wrong with audio, as one line for the user. Apart from the ports, which load numpy."""

from __future__ import annotations


class AudioError(Exception):
    """Audio that can't be used: one line that says what, where and what to do."""


class DeviceLostError(AudioError):
    """A device that was working has gone: the session pauses and tries again."""


class PassingAudioError(AudioError):
    """A device could not be opened, for a reason that may have passed a moment later."""
