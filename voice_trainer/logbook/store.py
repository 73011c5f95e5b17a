"""The logbook as a file: SQLite, through SQLAlchemy.

Theory of operation
-------------------
The journals are the truth; this file only spares grading them all again. So whatever goes wrong here costs time and no
practice: what is missing is entered later (`keeping`), and a file that is damaged is made anew.

A session is one transaction. In SQLite's WAL mode a reader never waits, and a transaction that a kill or a full disk
breaks off never was (https://sqlite.org/wal.html). A writer takes its lock at the beginning ('BEGIN IMMEDIATE') and
waits for another one, `BUSY_SECONDS` at most.

`PRAGMA user_version` holds the version of the schema: an older one is emptied, to be filled anew, a newer one is
refused before anything is written. One that says it is of this version and lacks a table or a column is damaged, as is
a file that is no database: it is removed, and made anew from the journals. `PRAGMA secure_delete` overwrites what is
forgotten.
"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sqlalchemy import URL, Connection, create_engine, delete, event, insert, select
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.pool import StaticPool

from voice_trainer.archive.private_folder import private_folder
from voice_trainer.logbook.entries import SessionEntry, same_student
from voice_trainer.logbook.errors import DamagedLogbookError, LogbookError, NewerLogbookError
from voice_trainer.logbook.items import Item
from voice_trainer.logbook.rating import NOBODYS, NOT_RATED_LEVEL
from voice_trainer.logbook.schema import (
    CALLS,
    CATALOGUE,
    METADATA,
    PASSED_OVER,
    PRACTICES,
    SCHEMA_VERSION,
    SESSIONS,
)

BUSY_SECONDS = 5.0
"""How long to wait for another process that writes: one that is alive writes for milliseconds."""

_DAMAGED = ("SQLITE_CORRUPT", "SQLITE_NOTADB")


class Logbook:
    """The logbook in a file, made with its folder where it is missing, for its owner only (0600); None: in memory.

    Raises LogbookError where that can't be, NewerLogbookError for one that a newer version wrote. A damaged file is
    replaced by an empty one. Every method raises LogbookError where the file can't be read or written.
    """

    def __init__(self, path: Path | None) -> None:
        self.path = path
        try:
            self._open()
        except DamagedLogbookError:
            assert path is not None
            remove_logbook(path)
            with _in_one_line(path):
                self._open()

    def close(self) -> None:
        """Close the file; closing again does nothing."""
        with suppress(SQLAlchemyError):
            self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def fingerprints(self) -> dict[str, str]:
        """Every session that is known, those that were passed over too, with the fingerprint of its journal."""
        with self.reading() as connection:
            return {
                session: fingerprint
                for table in (PASSED_OVER, SESSIONS)
                for session, fingerprint in connection.execute(select(table.c.session, table.c.fingerprint))
            }

    def passed_over(self) -> dict[str, str]:
        """Why the journals that could not be read could not be."""
        with self.reading() as connection:
            rows = connection.execute(
                select(PASSED_OVER.c.session, PASSED_OVER.c.why).order_by(PASSED_OVER.c.session)
            )
            return {row.session: row.why for row in rows}

    def enter(
        self, entry: SessionEntry, fingerprint: str, still_there: Callable[[], bool] = lambda: True
    ) -> None:
        """Put a session in place of what was there of it: all of it or nothing.

        `still_there` is asked while nobody else can write: a session that was forgotten meanwhile stays forgotten.
        """
        with self._writing() as connection:
            _remove(connection, entry.session)
            if still_there():
                _insert(connection, entry, fingerprint)

    def pass_over(self, session: str, fingerprint: str, why: str) -> None:
        """Note that a session's journal can't be read."""
        with self._writing() as connection:
            _remove(connection, session)
            connection.execute(insert(PASSED_OVER).values(session=session, fingerprint=fingerprint, why=why))

    def remove(self, *sessions: str) -> None:
        """Remove all that is known of sessions, and overwrite where it was."""
        with self._writing() as connection:
            for session in sessions:
                _remove(connection, session)
        with _in_one_line(self.path):
            self._pragma("wal_checkpoint(TRUNCATE)")

    def catalogue(self, fingerprint: str) -> tuple[Item, ...]:
        """The flows that were kept for these files of drills; nothing where there are none."""
        columns = [CATALOGUE.c[name] for name in Item.__dataclass_fields__]
        query = select(*columns).where(CATALOGUE.c.fingerprint == fingerprint).order_by(CATALOGUE.c.place)
        with self.reading() as connection:
            return tuple(Item(*row) for row in connection.execute(query))

    def keep_catalogue(self, fingerprint: str, items: Sequence[Item]) -> None:
        """Keep the flows of these files of drills, in place of those of others."""
        rows = [
            {"place": place, "fingerprint": fingerprint, **asdict(item)} for place, item in enumerate(items)
        ]
        with self._writing() as connection:
            connection.execute(delete(CATALOGUE))
            if rows:
                connection.execute(insert(CATALOGUE), rows)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A view of the logbook in which nothing changes."""
        with _in_one_line(self.path), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        options = {"writes": True}
        with (
            _in_one_line(self.path),
            self._engine.connect().execution_options(**options) as connection,
            connection.begin(),
        ):
            yield connection

    def _open(self) -> None:
        path = self.path
        with _in_one_line(path):
            if path is None:
                self._engine = create_engine("sqlite://", poolclass=StaticPool)
            else:
                private_folder(path.parent)
                os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600))
                self._engine = create_engine(
                    URL.create("sqlite", database=str(path)), connect_args={"timeout": BUSY_SECONDS}
                )
            event.listen(self._engine, "connect", _connected)
            event.listen(self._engine, "begin", _begun)
            try:
                self._settle_schema()
            except BaseException:
                self.close()
                raise

    def _settle_schema(self) -> None:
        with self.reading() as connection:
            version = _version(connection)
            is_whole = version != SCHEMA_VERSION or _columns(connection) == _COLUMNS
        if not is_whole:
            raise DamagedLogbookError(
                f"{self.path}: the logbook is damaged (a table or a column is missing); make it anew with "
                "'voice-trainer logbook rebuild'"
            )
        if version > SCHEMA_VERSION:
            raise NewerLogbookError(
                f"{self.path}: this logbook is of version {version}, newer than this program, which knows "
                f"{SCHEMA_VERSION}; update voice_trainer to use it"
            )
        if version == SCHEMA_VERSION:
            return
        with suppress(sqlite3.OperationalError):  # another process that does the same right now is enough
            self._pragma("journal_mode=WAL")
        with self._writing() as connection:
            if _version(connection) == SCHEMA_VERSION:
                return  # another process was quicker
            names = connection.exec_driver_sql(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
            )
            for (name,) in names.fetchall():
                quoted = str(name).replace('"', '""')
                connection.exec_driver_sql(f'DROP TABLE "{quoted}"')
            METADATA.create_all(connection)
            connection.exec_driver_sql(f"PRAGMA user_version = {SCHEMA_VERSION}")

    def _pragma(self, pragma: str) -> None:
        """One that has no effect, or is an error, inside of a transaction. Raises sqlite3.Error."""
        raw = self._engine.raw_connection()
        try:
            raw.cursor().execute(f"PRAGMA {pragma}")
        finally:
            raw.close()


def remove_logbook(path: Path) -> None:
    """Delete the file of a logbook and what SQLite keeps beside it. Raises LogbookError."""
    with _in_one_line(path):
        for suffix in ("", "-wal", "-shm"):
            path.with_name(f"{path.name}{suffix}").unlink(missing_ok=True)


@contextmanager
def _in_one_line(path: Path | None) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise LogbookError(
            f"{path}: the logbook can't be written ({error.strerror}); make its folder writable; the journals have all"
        ) from error
    except (SQLAlchemyError, sqlite3.Error) as error:
        cause = getattr(error, "orig", error)
        name = getattr(cause, "sqlite_errorname", "")
        what = str(cause or error).splitlines()[0]
        if isinstance(cause, sqlite3.DatabaseError) and name in _DAMAGED:
            raise DamagedLogbookError(
                f"{path}: the logbook is damaged ({what}); make it anew with 'voice-trainer logbook rebuild'"
            ) from error
        raise LogbookError(
            f"{path}: the logbook can't be used ({what}); nothing is lost, the journals have all; make room, or make "
            "the file and its folder writable"
        ) from error


def _connected(connection: sqlite3.Connection, _record: object) -> None:
    connection.isolation_level = None  # transactions begin as `_begun` says, not as the driver guesses
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA secure_delete = ON")


def _begun(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _version(connection: Connection) -> int:
    return int(connection.exec_driver_sql("PRAGMA user_version").scalar_one())


_COLUMNS = {(table.name, column.name) for table in METADATA.sorted_tables for column in table.columns}


def _columns(connection: Connection) -> set[tuple[str, str]]:
    """The columns that there are of the tables that there should be."""
    query = (
        "SELECT tables.name, columns.name FROM sqlite_master AS tables, pragma_table_info(tables.name) AS columns "
        "WHERE tables.type = 'table'"
    )
    found = {(str(table), str(column)) for table, column in connection.exec_driver_sql(query)}
    return {each for each in found if each[0] in METADATA.tables}


def _remove(connection: Connection, session: str) -> None:
    for table in (CALLS, PRACTICES, SESSIONS, PASSED_OVER):
        connection.execute(delete(table).where(table.c.session == session))


def _insert(connection: Connection, entry: SessionEntry, fingerprint: str) -> None:
    connection.execute(
        insert(SESSIONS).values(
            session=entry.session,
            fingerprint=fingerprint,
            student=entry.student,
            student_key=same_student(entry.student),
            started_unix_seconds=entry.started_utc.timestamp(),
            seconds=entry.seconds,
            drill=entry.drill,
            title=entry.title,
            kind=entry.kind,
            mode=entry.mode,
            ended=entry.ended,
        )
    )
    practices, calls = _rows(entry)
    if practices:
        connection.execute(insert(PRACTICES), practices)
    if calls:
        connection.execute(insert(CALLS), calls)


def _rows(entry: SessionEntry) -> tuple[list[Mapping[str, Any]], list[Mapping[str, Any]]]:
    practices: list[Mapping[str, Any]] = []
    calls: list[Mapping[str, Any]] = []
    for place, flow in enumerate(entry.flows):
        counted = [call for call in flow.calls if call.verdict not in NOBODYS]
        said = [call for call in counted if call.verdict != "missed"]
        practices.append(
            {
                "session": entry.session,
                "place": place,
                "step": flow.step,
                "flow": flow.flow,
                "lead_in": flow.lead_in,
                "level": flow.level,
                "ended_unix_seconds": flow.ended_utc.timestamp(),
                "outcome": flow.outcome,
                "why": flow.why,
                "is_rated_level": flow.level != NOT_RATED_LEVEL,
                "calls": len(counted),
                "said": len(said),
                "right": sum(call.verdict != "wrong value" for call in said),
                "timely": sum(call.verdict not in ("late", "early") for call in said),
                "prompt": sum(call.is_prompt for call in said),
                "after_seconds": sum(call.after_seconds or 0.0 for call in said),
                "in_order": flow.in_order,
                "pairs": flow.pairs,
            }
        )
        for call in flow.calls:
            calls.append(
                {
                    "session": entry.session,
                    "place": len(calls),
                    "student_key": same_student(entry.student),
                    "drill": entry.drill,
                    "is_counted": call.verdict not in NOBODYS and flow.level != NOT_RATED_LEVEL,
                    "step": flow.step,
                    "call": call.call,
                    "verdict": call.verdict,
                    "expected": call.expected,
                    "said": call.said,
                    "words": json.dumps(call.words) if call.words else "",
                    "after_seconds": call.after_seconds,
                    "is_prompt": call.is_prompt,
                    "is_corrected": call.is_corrected,
                }
            )
    return practices, calls
