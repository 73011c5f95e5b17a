"""A student who types every call right, as soon as its step has begun."""

from __future__ import annotations

from collections import deque
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from voice_trainer.archive.journal_file import JournalWriter
from voice_trainer.archive.places import journals_folder
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import AnyDecision, AnyFact, Header, Settings, StepBegan
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.diary import Diary
from voice_trainer.session.performance import perform
from voice_trainer.session.typed import TypedSession

Records = list[AnyFact | AnyDecision]


def header_of(drill: Drill) -> Header:
    return Header(
        program="test",
        session="test",
        started_utc="2026-01-01T00:00:00+00:00",
        drill=drill.model_dump(mode="json"),
        settings=Settings(),
        engine="typed",
        model_hash="",
        voice="none",
    )


def lines_of(drill: Drill) -> list[str]:
    """The lines of a typed session in which every call is right: they lead to the same whenever they are typed."""
    lines: list[str] = []
    with TemporaryDirectory() as folder:
        typed(drill, Path(folder), lines)
    return lines


def typed(drill: Drill, folder: Path, was_typed: list[str] | None = None) -> Records:
    """Everything that happens when every call is typed right, when its step has begun; `was_typed` gets the lines."""
    due: deque[str] = deque()
    records: Records = []
    lines = perform(drill).lines

    def watch(record: AnyFact | AnyDecision) -> None:
        records.append(record)
        if isinstance(record, StepBegan):
            due.extend(line.text for line in lines.get(record.step, ()))

    def next_line() -> str:
        line = due.popleft() if due else "+1"
        if was_typed is not None:
            was_typed.append(line)
        return line

    with JournalWriter(folder / "session.jsonl", header_of(drill)) as journal:
        session = TypedSession(
            Sequencer(drill, Settings()),
            domain_of(drill),
            Diary(journal, (watch,)),
            next_line,
        )
        session.run()
    return records


def practised_before(drill: Drill, days: int, student: str = "") -> None:
    """The journal of a session in which all of `drill` was said right, so many days ago."""
    with TemporaryDirectory() as folder:
        records = typed(drill, Path(folder))
    then = datetime.now(UTC) - timedelta(days=days)
    session = f"{then:%Y%m%dT%H%M%SZ}-{drill.drill}-{days:04x}"
    header = header_of(drill).model_copy(
        update={"session": session, "started_utc": then.isoformat(timespec="seconds"), "student": student}
    )
    with JournalWriter(journals_folder() / f"{session}.jsonl", header) as journal:
        for record in records:
            journal.append(record)
