"""What can go wrong with a voice, as one line for the user. Apart from the ports, which load numpy."""

from __future__ import annotations


class VoiceError(Exception):
    """A voice that can't speak: one line that says what, and what to do."""
