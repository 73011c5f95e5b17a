"""Where a session's records go: to disk first, then to whoever watches."""

from __future__ import annotations

from collections.abc import Callable

from voice_trainer.archive.journal_file import JournalWriter
from voice_trainer.journal.events import AnyDecision, AnyFact

Watcher = Callable[[AnyFact | AnyDecision], None]


class Diary:
    """Writes every record to the journal before anybody acts on it. Raises ArchiveError when it can't."""

    def __init__(self, journal: JournalWriter, watchers: tuple[Watcher, ...] = ()) -> None:
        self._journal = journal
        self._watchers = watchers
        self.records: list[AnyFact | AnyDecision] = []

    def write(self, records: list[AnyFact | AnyDecision]) -> None:
        """Write records in order, then show them."""
        for record in records:
            self._journal.append(record)
            self.records.append(record)
        for record in records:
            for watcher in self._watchers:
                watcher(record)
