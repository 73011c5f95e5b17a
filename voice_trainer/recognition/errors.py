"""What can go wrong with a recogniser, as one line for the user. Apart from the ports, which load numpy."""

from __future__ import annotations


class RecogniserError(Exception):
    """A recogniser that can't be used: one line that says what, where and what to do."""
