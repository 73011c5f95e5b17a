"""What is read out of the logbook: students, what they practised, and where they are weak."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo

from sqlalchemy import and_, func, select, true

from voice_trainer.logbook.entries import WordOver, same_student
from voice_trainer.logbook.practices import Practice, SaidInstead, WeakCall
from voice_trainer.logbook.progress import week_of
from voice_trainer.logbook.rating import FAULTS, FLAWS
from voice_trainer.logbook.schema import CALLS, PRACTICES, SESSIONS
from voice_trainer.logbook.store import Logbook

INSTEAD_SHOWN = 3

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class PractisedTime:
    """Sessions, and the seconds that they lasted without their pauses, in all and by week (its Monday)."""

    sessions: int
    seconds: float
    by_week: dict[date, float]


def students(logbook: Logbook) -> tuple[str, ...]:
    """Every student of whom there is a session, as the latest of them has the name; '' is who gave none."""
    latest = func.max(SESSIONS.c.started_unix_seconds)
    query = (
        select(SESSIONS.c.student, latest).group_by(SESSIONS.c.student_key).order_by(SESSIONS.c.student_key)
    )
    with logbook.reading() as connection:
        return tuple(student for student, _ in connection.execute(query))


def practices_of(logbook: Logbook, student: str) -> list[Practice]:
    """What a student practised, in order of time."""
    of_session = ("drill", "title", "kind")
    columns = [
        SESSIONS.c[name] if name in of_session else PRACTICES.c[name.replace("_utc", "_unix_seconds")]
        for name in Practice._fields
    ]
    ended = Practice._fields.index("ended_utc")
    query = (
        select(*columns)
        .join_from(PRACTICES, SESSIONS)
        .where(SESSIONS.c.student_key == same_student(student))
        .order_by(PRACTICES.c.ended_unix_seconds, PRACTICES.c.session, PRACTICES.c.place)
    )
    with logbook.reading() as connection:
        rows = connection.execute(query).all()
    return [
        Practice._make((*row[:ended], _EPOCH + timedelta(seconds=row[ended]), *row[ended + 1 :]))
        for row in rows
    ]


def practised_time(logbook: Logbook, student: str, zone: tzinfo | None) -> PractisedTime:
    """How long a student practised."""
    query = (
        select(SESSIONS.c.started_unix_seconds, SESSIONS.c.seconds)
        .where(SESSIONS.c.student_key == same_student(student))
        .order_by(SESSIONS.c.started_unix_seconds)
    )
    by_week: dict[date, float] = {}
    with logbook.reading() as connection:
        rows = connection.execute(query).all()
    for started, seconds in rows:
        week = week_of(_EPOCH + timedelta(seconds=started), zone)
        by_week[week] = by_week.get(week, 0.0) + seconds
    return PractisedTime(len(rows), sum(by_week.values()), by_week)


def weakest_calls(logbook: Logbook, student: str, most: int = 5) -> tuple[WeakCall, ...]:
    """The calls that go wrong most often, of all times that they counted; with what was said with a wrong value.

    Faults (missed, wrong) weigh one, flaws (late, early, out of order, incomplete) a half, as in a score. One more is
    added to the times, so that a call that failed once of one time is not before one that failed nine of ten.
    """
    counted = and_(CALLS.c.student_key == same_student(student), CALLS.c.is_counted == true())
    key = (CALLS.c.drill, CALLS.c.step, CALLS.c.call)
    tally = select(*key, CALLS.c.verdict, func.count()).where(counted).group_by(*key, CALLS.c.verdict)
    with logbook.reading() as connection:
        counts: dict[tuple[str, str, str], dict[str, int]] = {}
        for drill, step, call, verdict, count in connection.execute(tally):
            counts.setdefault((drill, step, call), {})[verdict] = count

        def weight(each: tuple[str, str, str]) -> float:
            got = counts[each]
            lost = sum(got.get(v, 0) for v in FAULTS) + sum(got.get(v, 0) for v in FLAWS) / 2
            return lost / (sum(got.values()) + 1)

        worst = sorted((each for each in counts if weight(each) > 0), key=lambda each: (-weight(each), each))
        found: list[WeakCall] = []
        for drill, step, call in worst[:most]:
            here = and_(counted, CALLS.c.drill == drill, CALLS.c.step == step, CALLS.c.call == call)
            expected = connection.execute(
                select(CALLS.c.expected).where(here).order_by(CALLS.c.session.desc()).limit(1)
            ).scalar_one()
            times = func.count().label("times")
            instead = connection.execute(
                # Beside max(), SQLite takes the other columns from the row that has it (sqlite.org/lang_select.html).
                select(CALLS.c.said, times, CALLS.c.words, func.max(CALLS.c.session))
                .where(here, CALLS.c.verdict == "wrong value", CALLS.c.said != "")
                .group_by(CALLS.c.said)
                .order_by(times.desc(), CALLS.c.said)
                .limit(INSTEAD_SHOWN)
            ).all()
            got = counts[drill, step, call]
            found.append(
                WeakCall(
                    drill=drill,
                    step=step,
                    call=call,
                    expected=expected,
                    times=sum(got.values()),
                    missed=got.get("missed", 0),
                    wrong=got.get("wrong value", 0),
                    other=sum(got.get(v, 0) for v in FLAWS),
                    said_instead=tuple(
                        SaidInstead(said, int(count), _words(words)) for said, count, words, _ in instead
                    ),
                )
            )
    return tuple(found)


def _words(text: str) -> tuple[WordOver, ...]:
    return tuple(WordOver(*each) for each in json.loads(text)) if text else ()
