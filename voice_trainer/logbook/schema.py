"""The tables of the logbook. All that they hold comes from journals and can be made again from them."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Float, ForeignKey, Index, Integer, MetaData, Table, Text

SCHEMA_VERSION = 3
"""Raised with every change of a table, and of what is derived from a journal (`derivation`, `rating`): a logbook of an
older version is then emptied and filled anew. It is SQLite's own `user_version`."""

METADATA = MetaData()


def _of_session() -> Column[str]:
    return Column("session", Text, ForeignKey("sessions.session", ondelete="CASCADE"), nullable=False)


SESSIONS = Table(
    "sessions",
    METADATA,
    Column("session", Text, primary_key=True),
    Column("fingerprint", Text, nullable=False),
    Column("student", Text, nullable=False),
    Column("student_key", Text, nullable=False),
    Column("started_unix_seconds", Float, nullable=False),
    Column("seconds", Float, nullable=False),
    Column("drill", Text, nullable=False),
    Column("title", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("mode", Text, nullable=False),
    Column("ended", Text, nullable=False),
    Index("sessions_of_a_student", "student_key", "started_unix_seconds"),
)
"""`fingerprint` tells whether the journal, or its reviews, changed since."""

PRACTICES = Table(
    "practices",
    METADATA,
    _of_session(),
    Column("place", Integer, nullable=False),
    Column("step", Text, nullable=False),
    Column("flow", Text, nullable=False),
    Column("lead_in", Text, nullable=False),
    Column("level", Text, nullable=False),
    Column("ended_unix_seconds", Float, nullable=False),
    Column("outcome", Text),
    Column("why", Text, nullable=False),
    Column("is_rated_level", Boolean, nullable=False),
    Column("calls", Integer, nullable=False),
    Column("said", Integer, nullable=False),
    Column("right", Integer, nullable=False),
    Column("timely", Integer, nullable=False),
    Column("prompt", Integer, nullable=False),
    Column("after_seconds", Float, nullable=False),
    Column("in_order", Integer, nullable=False),
    Column("pairs", Integer, nullable=False),
    Index("practices_of_a_session", "session", "place", unique=True),
)

CALLS = Table(
    "calls",
    METADATA,
    _of_session(),
    Column("place", Integer, nullable=False),
    Column("student_key", Text, nullable=False),
    Column("drill", Text, nullable=False),
    Column("step", Text, nullable=False),
    Column("call", Text, nullable=False),
    Column("is_counted", Boolean, nullable=False),
    Column("verdict", Text, nullable=False),
    Column("expected", Text, nullable=False),
    Column("said", Text, nullable=False),
    Column("words", Text, nullable=False),
    Column("after_seconds", Float),
    Column("is_prompt", Boolean, nullable=False),
    Column("is_corrected", Boolean, nullable=False),
    Index("calls_of_a_session", "session", "place", unique=True),
    Index("verdicts_of_a_student", "student_key", "is_counted", "drill", "step", "call", "verdict"),
)
"""Student and drill are those of the session, here once more: the index answers at once where somebody is weak.
`is_counted`: for or against the student, at a level that shows something. `words` is JSON, as `words` of `entries`."""

PASSED_OVER = Table(
    "passed_over",
    METADATA,
    Column("session", Text, primary_key=True),
    Column("fingerprint", Text, nullable=False),
    Column("why", Text, nullable=False),
)
"""Journals that this version can't read: not looked at again before they change."""

CATALOGUE = Table(
    "catalogue",
    METADATA,
    Column("place", Integer, primary_key=True),
    Column("fingerprint", Text, nullable=False),
    Column("drill", Text, nullable=False),
    Column("step", Text, nullable=False),
    Column("flow", Text, nullable=False),
    Column("title", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("lead_in", Text, nullable=False),
)
"""The flows of the built-in drills, as long as the files are those of the fingerprint: reading them takes longest."""
