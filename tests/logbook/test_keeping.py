"""The logbook and the journals: what is entered little by little is what is entered all at once, whatever happens."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.logbook.made_journals import RIGHT, Performance, content, header_of, two_flows, write_session
from tests.scenes import drill_of
from voice_trainer.archive.journal_file import JournalWriter
from voice_trainer.archive.places import journals_folder, logbook_path
from voice_trainer.archive.review_file import add_review
from voice_trainer.journal.reviewing import Overruling
from voice_trainer.logbook.errors import LogbookError, NewerLogbookError
from voice_trainer.logbook.keeping import catch_up
from voice_trainer.logbook.schema import SCHEMA_VERSION
from voice_trainer.logbook.store import Logbook

ROOT = Path(__file__).parents[2]

WRONG = (("turn left heading 300", "maintain 2600"), ("report established",))


def anew() -> dict[str, list[tuple[object, ...]]]:
    """What a logbook holds that is made at once from the journals that are there."""
    with Logbook(None) as book:
        catch_up(book)
        return content(book)


def kept() -> dict[str, list[tuple[object, ...]]]:
    with Logbook(logbook_path()) as book:
        return content(book)


def overrule(session: str) -> None:
    add_review(
        journals_folder() / f"{session}.jsonl",
        Overruling(
            step="step 1",
            call="heading",
            was="wrong value",
            verdict="correct",
            why="it was 310",
            by="Bo",
            at_utc="2026-01-06T08:00:00+00:00",
        ),
    )


@contextmanager
def a_home_of_its_own() -> Iterator[None]:
    """One for each example of a property test."""
    before = os.environ["VOICE_TRAINER_HOME"]
    with tempfile.TemporaryDirectory() as folder:
        os.environ["VOICE_TRAINER_HOME"] = folder
        try:
            yield
        finally:
            os.environ["VOICE_TRAINER_HOME"] = before


said = st.sampled_from(
    ["turn left heading 310", "turn left heading 300", "maintain 2600", "report established"]
)
performances = st.builds(
    Performance,
    st.lists(st.lists(said, max_size=3), min_size=1, max_size=2),
    st.sampled_from([0.5, 3.0, 9.0]),
    st.sampled_from(["finished", "by the student", "end of the input", None]),
    st.sampled_from(["", "Anna", "anna", "Bo"]),
    st.sampled_from(["prompted", "read along", "cold"]),
    st.sampled_from(["typed", "student"]),
)
happenings = st.lists(
    st.one_of(
        performances,
        st.tuples(st.sampled_from(["overrule", "forget", "damage"]), st.integers(0, 9)),
        st.sampled_from(["catch up", "reopen"]),
    ),
    min_size=1,
    max_size=12,
)


@settings(max_examples=40)
@given(happenings)
def test_little_by_little_is_as_all_at_once(happenings: list[object]) -> None:
    with a_home_of_its_own():
        sessions: list[str] = []
        book = Logbook(logbook_path())
        for number, each in enumerate(happenings):
            match each:
                case Performance():
                    sessions.append(write_session(number, each))
                case "catch up":
                    catch_up(book)
                case "reopen":
                    book.close()
                    book = Logbook(logbook_path())
                case (what, which) if sessions:
                    session = sessions[which % len(sessions)]
                    journal = journals_folder() / f"{session}.jsonl"
                    if what == "overrule":
                        overrule(session)
                    elif what == "forget":
                        journal.unlink()
                        sessions.remove(session)
                    else:
                        with journal.open("ab") as file:
                            file.write(b"{}\n")
                case _:
                    pass
        catch_up(book)
        assert content(book) == anew()
        assert {row[0] for table in ("sessions", "passed_over") for row in content(book)[table]} == set(
            sessions
        )
        book.close()


def test_a_second_catching_up_finds_nothing_to_do() -> None:
    write_session(1, Performance(RIGHT))
    with Logbook(logbook_path()) as book:
        assert catch_up(book).entered == 1
        assert catch_up(book).entered == 0


def test_an_overruling_is_caught_up_with() -> None:
    session = write_session(1, Performance(WRONG))
    with Logbook(logbook_path()) as book:
        catch_up(book)
        before = content(book)["practices"]
        overrule(session)
        assert catch_up(book).entered == 1
        assert content(book)["practices"] != before


def test_a_session_that_runs_waits_until_it_is_over() -> None:
    drill, performance = two_flows(), Performance(RIGHT)
    name = "20260105T080000Z-scene-0001"
    journal = JournalWriter(
        journals_folder() / f"{name}.jsonl", header_of(drill, performance, name, "2026-01-05T08:00:00+00:00")
    )
    with Logbook(logbook_path()) as book:
        assert catch_up(book).entered == 0
        journal.close()
        assert catch_up(book).entered == 1


@pytest.mark.parametrize(
    "bad", ['{"no": "journal"}\n', "\n", "\x00\xff", '{"event": "header", "journal_format": 99}\n']
)
def test_a_journal_that_cant_be_read_is_passed_over_with_a_reason(bad: str) -> None:
    write_session(1, Performance(RIGHT))
    path = journals_folder() / "20260110T080000Z-bad-0001.jsonl"
    path.write_text(bad, encoding="utf-8")
    with Logbook(logbook_path()) as book:
        for _ in range(2):
            done = catch_up(book)
            assert list(done.passed_over) == [path.stem]
            assert str(path) in done.passed_over[path.stem]
        assert len(content(book)["sessions"]) == 1


@pytest.mark.parametrize(
    "started", ["", "yesterday", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"]
)
def test_a_date_that_is_none_is_passed_over(started: str) -> None:
    drill, performance = two_flows(), Performance(RIGHT)
    name = "20260105T080000Z-scene-0001"
    JournalWriter(journals_folder() / f"{name}.jsonl", header_of(drill, performance, name, started)).close()
    with Logbook(logbook_path()) as book:
        assert list(catch_up(book).passed_over) == [name]


def test_a_logbook_of_a_newer_version_is_refused_and_left_as_it_is() -> None:
    write_session(1, Performance(RIGHT))
    with Logbook(logbook_path()) as book:
        catch_up(book)
    with sqlite3.connect(logbook_path()) as connection:
        connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    connection.close()
    before = logbook_path().read_bytes()
    with pytest.raises(NewerLogbookError, match="newer than this program"):
        Logbook(logbook_path())
    assert logbook_path().read_bytes() == before


@pytest.mark.parametrize("version", [0, -1, SCHEMA_VERSION - 1])
def test_a_logbook_of_an_older_version_is_emptied_and_filled_anew(version: int) -> None:
    write_session(1, Performance(RIGHT))
    with sqlite3.connect(logbook_path()) as connection:
        connection.execute('CREATE TABLE "se""ssions" (x)')
        connection.execute("CREATE TABLE calls (x)")
        connection.execute(f"PRAGMA user_version = {version}")
    connection.close()
    with Logbook(logbook_path()) as book:
        assert catch_up(book).entered == 1
        assert content(book) == anew()


@pytest.mark.parametrize("damage", ["no database", "overwritten"])
def test_a_damaged_file_is_made_anew(damage: str) -> None:
    write_session(1, Performance(RIGHT))
    with Logbook(logbook_path()) as book:
        catch_up(book)
    if damage == "no database":
        logbook_path().write_bytes(b"this is no database, it is a text that somebody put here" * 100)
    else:
        with logbook_path().open("r+b") as file:
            file.write(bytes(range(256)) * 16)
    with Logbook(logbook_path()) as book:
        catch_up(book)
        assert content(book) == anew()


def test_the_file_is_its_owners_only() -> None:
    write_session(1, Performance(RIGHT))
    with Logbook(logbook_path()) as book:
        catch_up(book)
        there = [path for path in logbook_path().parent.iterdir() if path.name.startswith("logbook.sqlite")]
        assert there
        assert {path.stat().st_mode & 0o777 for path in there} == {0o600}


def test_what_was_forgotten_is_not_in_the_file_any_more() -> None:
    drill = drill_of({"calls": [{"call": "report", "say": "report overhead quernmore"}]})
    session = write_session(1, Performance((("report overhead quernmore",),)), drill)
    with Logbook(logbook_path()) as book:
        catch_up(book)
        book.remove(session)
        left = b"".join(
            path.read_bytes() for path in logbook_path().parent.iterdir() if path.name.startswith("logbook")
        )
        assert b"quernmore" not in left


CATCH_UP = """
import sys
from voice_trainer.archive.places import logbook_path
from voice_trainer.logbook.keeping import catch_up
from voice_trainer.logbook.store import Logbook
print("ready", flush=True)
for _ in range(int(sys.argv[1])):
    with Logbook(logbook_path()) as book:
        catch_up(book, anew=True)
print("done", flush=True)
"""


def in_another_process(times: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", CATCH_UP, str(times)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )


def test_two_processes_at_once() -> None:
    for number in range(6):
        write_session(number, Performance(RIGHT if number % 2 else WRONG))
    both = [in_another_process(3) for _ in range(2)]
    for process in both:
        out, err = process.communicate(timeout=120)
        assert (process.returncode, out.split()[-1], err) == (0, "done", "")
    assert kept() == anew()


@pytest.mark.slow
@pytest.mark.parametrize("seconds", [0.01, 0.05, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8])
def test_killed_while_it_writes(seconds: float) -> None:
    for number in range(6):
        write_session(number, Performance(RIGHT if number % 2 else WRONG))
    whole = anew()
    process = in_another_process(1000)
    assert process.stdout is not None
    process.stdout.readline()
    time.sleep(seconds)
    process.send_signal(signal.SIGKILL)
    process.communicate()
    now = kept()
    sessions = {row[0] for row in now["sessions"]}
    for table in ("practices", "calls"):  # each session is there with all of it, or not at all
        assert now[table] == [row for row in whole[table] if row[0] in sessions]
    with Logbook(logbook_path()) as book:
        catch_up(book)
        assert content(book) == whole
        with book.reading() as connection:
            assert connection.exec_driver_sql("PRAGMA integrity_check").scalar_one() == "ok"


FULL = """
import resource, signal
from voice_trainer.archive.places import logbook_path
from voice_trainer.logbook.errors import LogbookError
from voice_trainer.logbook.keeping import catch_up
from voice_trainer.logbook.store import Logbook
with Logbook(logbook_path()) as book:
    for bytes_left in (200, 5_000, 30_000):
        resource.setrlimit(resource.RLIMIT_FSIZE, (bytes_left, resource.RLIM_INFINITY))
        try:
            catch_up(book)
        except LogbookError as problem:
            print(problem)
        else:
            print("written after all")
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
"""


def test_a_full_disk_loses_nothing_and_says_so_in_a_line() -> None:
    """No file may grow beyond a limit: writing fails in the midst of a session's transaction."""
    calls = [
        {"call": f"report {n}", "say": f"report {'established ' * 40}{{altitude: {n + 1}000}}"}
        for n in range(30)
    ]
    drill = drill_of({"calls": calls, "give_up_seconds": 1.0})
    write_session(1, Performance(RIGHT))
    with Logbook(logbook_path()) as book:
        catch_up(book)
    before = kept()
    write_session(2, Performance((("report",),)), drill)
    done = subprocess.run(
        [sys.executable, "-B", "-c", FULL],
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert len(lines) == 3
    assert all("nothing is lost" in line for line in lines), lines
    assert kept() == before
    with Logbook(logbook_path()) as book:
        assert catch_up(book).entered == 1
        assert content(book) == anew()


def test_where_no_file_can_be_made_it_says_so() -> None:
    logbook_path().mkdir(parents=True)
    with pytest.raises(LogbookError, match="the journals have all"):
        Logbook(logbook_path())
