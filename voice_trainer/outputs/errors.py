"""What is wrong with a place that somebody named for a file."""

from __future__ import annotations


class OutputError(Exception):
    """A file that may not, or could not, be written: one line that says what, where and what to do."""
