"""What can go wrong with the files that a session leaves behind."""

from __future__ import annotations


class ArchiveError(Exception):
    """A journal that can't be written or read: one line that says what, where and what to do."""
