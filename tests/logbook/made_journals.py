"""Journals of sessions that a test makes up, in the folder where the program keeps them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import select

from tests.scenes import Scene, drill_of
from voice_trainer.archive.journal_file import JournalWriter
from voice_trainer.archive.places import journals_folder
from voice_trainer.drills.model import Drill, Level
from voice_trainer.journal.events import Ended, Header, Settings
from voice_trainer.logbook.schema import METADATA
from voice_trainer.logbook.store import Logbook

BEGIN = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)

READBACK: dict[str, Any] = {
    "name": "readback",
    "order": "strict",
    "calls": [
        {"call": "heading", "say": "[turn] left [heading] {heading: 310}"},
        {"call": "altitude", "say": "maintain {altitude: 2600}"},
    ],
}
REPORT: dict[str, Any] = {"name": "report", "calls": [{"call": "report", "say": "report established"}]}


def two_flows(**more: Any) -> Drill:
    """'step 1', a readback in two calls, then 'step 2', a report."""
    return drill_of(READBACK, REPORT, **more)


@dataclass(frozen=True)
class Performance:
    """What is said in each step, and so many seconds after it could be; then how the session ends."""

    said: Sequence[Sequence[str]]
    after_seconds: float = 1.0
    ended: str | None = "finished"
    student: str = "Anna"
    level: Level = "prompted"
    input: str = "typed"


RIGHT = (("turn left heading 310", "maintain 2600"), ("report established",))


def perform(drill: Drill, performance: Performance) -> Scene:
    """A session, fact by fact."""
    scene = Scene(drill, Settings(level=performance.level, input=performance.input))
    for step, said in zip(drill.steps, performance.said, strict=False):
        scene.begin(step.step)
        scene.say_all(said, after=performance.after_seconds)
        if performance.ended == "finished":
            scene.wait(40.0).tick()
    if performance.ended is not None:
        scene.send(Ended(at_seconds=scene.now, reason=performance.ended))
    return scene


def header_of(drill: Drill, performance: Performance, session: str, started_utc: str) -> Header:
    return Header(
        program="test",
        session=session,
        started_utc=started_utc,
        drill=drill.model_dump(mode="json"),
        settings=Settings(level=performance.level, input=performance.input),
        student=performance.student,
    )


def write_session(
    number: int, performance: Performance, drill: Drill | None = None, started: datetime | None = None
) -> str:
    """A session's journal, on the day of its number; returns the session's name."""
    drill = drill or two_flows()
    started = started or BEGIN + timedelta(days=number)
    session = f"{started:%Y%m%dT%H%M%SZ}-{drill.drill}-{number:04x}"
    header = header_of(drill, performance, session, started.isoformat())
    with JournalWriter(journals_folder() / f"{session}.jsonl", header) as journal:
        for record in perform(drill, performance).records:
            journal.append(record)
    return session


def content(logbook: Logbook) -> dict[str, list[tuple[Any, ...]]]:
    """All that a logbook holds, by table."""
    with logbook.reading() as connection:
        return {
            table.name: sorted(map(tuple, connection.execute(select(table))), key=repr)
            for table in METADATA.sorted_tables
        }
