"""What can go wrong with the logbook, for its user."""

from __future__ import annotations


class LogbookError(Exception):
    """A logbook that can't be read or written: one line that says what, where and what to do."""


class NewerLogbookError(LogbookError):
    """A logbook that a newer version wrote: it is left alone."""


class DamagedLogbookError(LogbookError):
    """A file that is no database, or whose content doesn't hold together."""
