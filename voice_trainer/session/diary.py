"""Where a session's records go: to disk first, then to whoever watches."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from voice_trainer.journal.events import AnyDecision, AnyFact

Watcher = Callable[[AnyFact | AnyDecision], None]


class Paper(Protocol):
    """Where records are written down, for good."""

    def append(self, record: AnyFact | AnyDecision) -> None:
        """Write one. Raises ArchiveError when it can't."""


class Diary:
    """Writes every record to the journal before anybody acts on it. Raises ArchiveError when it can't."""

    def __init__(self, journal: Paper, watchers: tuple[Watcher, ...] = ()) -> None:
        self._journal = journal
        self._watchers = watchers
        self.records: list[AnyFact | AnyDecision] = []

    def write(self, records: list[AnyFact | AnyDecision]) -> None:
        """Write records in order, then show them."""
        self.put_down(records)
        self.show(records)

    def put_down(self, records: list[AnyFact | AnyDecision]) -> None:
        """Write records in order; whoever does that alone has to `show` them, too."""
        for record in records:
            self._journal.append(record)
            self.records.append(record)

    def show(self, records: list[AnyFact | AnyDecision]) -> None:
        """Show records that are written down already."""
        for record in records:
            for watcher in self._watchers:
                watcher(record)
