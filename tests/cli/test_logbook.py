"""`due`, `progress` and `logbook`, as a user has them, and what a session leaves in the logbook."""

from __future__ import annotations

import csv
import io
import json
import resource
import sqlite3
import stat
import subprocess
import sys
import unicodedata
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import redirect_stderr, redirect_stdout
from itertools import count
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.cli.main import main
from voice_trainer.library.builtin import find_drill
from voice_trainer.logbook.schema import SCHEMA_VERSION

RIGHT = "+3\nturn left heading 310, maintain 2600, cleared for the VOR runway 33 approach, Heron 24\n"
WRONG = "+3\nturn left heading 320, maintain 2600, cleared for the VOR runway 33 approach, Heron 24\n"
REST = "+4\nmaintain 2900, Heron 24\n+3\n"


class Said(NamedTuple):
    code: int
    out: str
    err: str


def run(home: Path, said: str = RIGHT, *more: str | Path) -> str:
    """A session, run as a user runs it."""
    done = voice_trainer(
        *("run", "brannock-clearance", "--input", "typed", "--mode=fly-through", "--student=Anna", *more),
        home=home,
        stdin=said + REST,
    )
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


@pytest.fixture(scope="module")
def journal_of(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """What a right and a wrong session leave, to be copied."""
    found = {}
    for said in (RIGHT, WRONG):
        home = tmp_path_factory.mktemp("home")
        run(home, said)
        found[said] = journals(home)[0].read_text()
    return found


Practise = Callable[..., Path]


@pytest.fixture
def practise(tmp_path: Path, journal_of: dict[str, str]) -> Practise:
    """A session that was run before there was a logbook: its journal, with another `student`, or another `title`."""
    numbers = count(1)

    def practise(said: str = RIGHT, student: str = "Anna", title: str = "") -> Path:
        header, rest = journal_of[said].split("\n", 1)
        fields = json.loads(header) | {"student": student}
        if title:
            fields["drill"]["title"] = title
        journal = tmp_path / "journals" / f"20260105T0800{next(numbers):02d}Z-brannock-clearance-ab12.jsonl"
        journal.parent.mkdir(exist_ok=True)
        journal.write_text(json.dumps(fields) + "\n" + rest)
        return journal

    return practise


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    monkeypatch.setenv("NO_COLOR", "1")


def said_by(*arguments: str) -> Said:
    """A command's exit code, output and errors; in this process, since starting one takes longest."""
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True) for _ in range(2))
    with redirect_stdout(out), redirect_stderr(err):
        try:
            code = main(arguments)
        except SystemExit as left:  # argparse leaves so
            code = int(left.code or 0)
    texts = (stream.buffer.getvalue().decode() for stream in (out, err))  # type: ignore[attr-defined]
    return Said(code, *texts)


def trouble(*arguments: str) -> str:
    """The one line of a command that could not do what it was asked."""
    said = said_by(*arguments)
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert said.err.startswith("voice-trainer: ")
    return said.err


def asked(*arguments: str) -> Any:
    said = said_by(*arguments, "--json")
    assert (said.code, said.err) == (0, "")
    return json.loads(said.out)


def sessions_in(home: Path) -> list[str]:
    connection = sqlite3.connect(home / "logbook.sqlite")
    found = [name for (name,) in connection.execute("SELECT session FROM sessions ORDER BY session")]
    connection.close()
    return found


def journals(home: Path) -> list[Path]:
    return sorted((home / "journals").glob("*.jsonl"))


def test_a_session_is_in_the_logbook_when_it_is_over(tmp_path: Path) -> None:
    run(tmp_path)
    assert sessions_in(tmp_path) == [journals(tmp_path)[0].stem]


@pytest.mark.slow
def test_a_drill_flown_hands_free_is_in_the_logbook(tmp_path: Path) -> None:
    done = voice_trainer(
        *("handsfree", "--input=student", "--output=none", "--student=Anna"),
        *("--student-says", "trainer, fly brannock clearance; end"),
        home=tmp_path,
        timeout=240,
    )
    assert done.returncode == 0, done.stderr
    assert sessions_in(tmp_path) == [journals(tmp_path)[0].stem]
    assert asked("progress", "--student", "Anna")["sessions"] == 1


def test_what_is_due_when_and_why(practise: Practise, tmp_path: Path) -> None:
    practise(WRONG)
    found = asked("due", "--student", "anna")
    every = [*found["due"], *found["later"]]
    first = next(each for each in every if each["why"].startswith("failed"))
    assert first["why"] == "failed: wrong value: heading"
    assert first["drill"] == "brannock-clearance"
    assert first["lead_in"].startswith(find_drill("brannock-clearance").title)
    assert len(found["new"]) == 5 - len(every)
    shown = said_by("due", "--student", "anna").out
    assert "not practised yet" in shown
    assert "due" in shown.splitlines()[1]


def test_due_before_anything_was_practised(tmp_path: Path) -> None:
    done = said_by("due", "--new", "2")
    assert (done.code, done.err) == (0, "")
    assert done.out.startswith("0 flows due, 2 new today.")
    assert "No session without a name is in the logbook yet." in done.out


def test_students_are_told_apart(practise: Practise, tmp_path: Path) -> None:
    practise(WRONG, "Anna")
    practise(RIGHT, "Bo")
    found = {name: asked("due", "--student", name) for name in ("Anna", "Bo")}
    failed = {
        name: sum(each["failed"] for each in (*told["due"], *told["later"])) for name, told in found.items()
    }
    assert failed == {"Anna": 1, "Bo": 0}
    assert "there are sessions of Anna, Bo" in said_by("due").out
    assert "no session of 'Cleo'" in trouble("progress", "--student", "Cleo")


def test_progress_tells_what_went_wrong_and_what_was_said_instead(practise: Practise, tmp_path: Path) -> None:
    practise(WRONG)
    practise(WRONG)
    found = asked("progress", "--student", "Anna")
    weakest = found["weakest_calls"][0]
    assert (weakest["call"], weakest["wrong"], weakest["times"]) == ("heading", 2, 2)
    (instead,) = weakest["said_instead"]
    assert (instead["said"], instead["times"]) == ("turn left heading three two zero", 2)
    marked = [word for word in instead["words"] if word["difference"] != "same"]
    assert marked == [{"expected": "one", "said": "two", "difference": "instead"}]
    assert found["progress_schema"] == 1
    assert found["sessions"] == 2
    assert found["seconds"] > 10
    assert sum(found["forecast"].values()) >= 1
    assert 0 < found["total"]["accuracy"] < 1
    shown = said_by("progress", "--student", "Anna").out
    assert "said  turn left heading three two zero  (2 times)" in shown
    for section in ("By week", "By kind", "By flow", "Weakest calls", "Comes due"):
        assert section in shown


def test_progress_as_a_table_for_a_spreadsheet(practise: Practise, tmp_path: Path) -> None:
    practise(WRONG, "=Anna")
    done = said_by("progress", "--student", "=Anna", "--csv")
    rows = list(csv.DictReader(io.StringIO(done.out)))
    assert {row["student"] for row in rows} == {"'=Anna"}  # text, not a formula
    assert {row["drill"] for row in rows} == {"brannock-clearance"}
    assert float(rows[-1]["accuracy"]) <= 1
    calls = csv.DictReader(io.StringIO(said_by("progress", "--student", "=Anna", "--csv", "calls").out))
    assert [row["said_instead"] for row in calls if row["call"] == "heading"] == [
        "turn left heading three two zero"
    ]


def test_progress_as_a_page_for_its_owner_alone(practise: Practise, tmp_path: Path) -> None:
    practise(WRONG)
    done = said_by("progress", "--student", "Anna", "--html")
    page = tmp_path / "progress.html"
    assert (done.code, done.out, done.err) == (0, f"Page: {page}\n", "")
    assert stat.S_IMODE(page.stat().st_mode) == 0o600
    assert "turn left heading three one zero" in page.read_text(encoding="utf-8")
    assert (
        said_by("progress", "--student", "Anna", "--html", str(page)).code == 0
    )  # an older one is written anew


def test_a_page_of_progress_is_written_over_no_other_file(practise: Practise, tmp_path: Path) -> None:
    practise()
    other = tmp_path / "debrief.html"
    other.write_text('<meta name="generator" content="voice_trainer debrief">')
    assert "is there already and no page of progress" in trouble("progress", "--html", str(other))
    assert "does not end in .html or .htm; name a file such as progress.html" in trouble(
        "progress", "--html", str(tmp_path / "progress.pdf")
    )
    assert "there is no folder" in trouble("progress", "--html", str(tmp_path / "a" / "b.html"))
    assert other.read_text().endswith('debrief">')
    assert not list(tmp_path.glob("progress*"))


def test_an_instructors_page_shows_who_agreed_and_forget_removes_it(
    practise: Practise, tmp_path: Path
) -> None:
    practise(RIGHT, "Anna")
    practise(WRONG, "Bo")
    said_by("logbook", "consent", "Anna", "yes")
    assert said_by("progress", "--instructor", "--html").code == 0
    page = tmp_path / "progress-instructor.html"
    text = page.read_text(encoding="utf-8")
    assert "Anna" in text and "<bdi>Bo</bdi>" not in text and "1 other has not" in text
    assert said_by("progress", "--student", "Anna", "--instructor", "--html").code == 0
    assert "<h1><bdi>Anna</bdi></h1>" in page.read_text(encoding="utf-8")
    done = said_by("forget", "--student", "Bo", "--yes")
    assert f"removed {page}" in done.out
    assert not page.exists()


@pytest.mark.parametrize("started", ["0001-01-01T00:00:00+00:00", "9999-12-31T23:00:00+00:00"])
def test_a_journal_from_the_ends_of_the_calendar_is_passed_over(
    practise: Practise, started: str, tmp_path: Path
) -> None:
    practise(WRONG)
    strange = practise(WRONG)
    header, rest = strange.read_text().split("\n", 1)
    strange.write_text(json.dumps(json.loads(header) | {"started_utc": started}) + "\n" + rest)
    for command in (("due",), ("progress",), ("progress", "--html")):
        done = said_by(*command, "--student", "Anna")
        assert done.code == 0
        assert done.err.count("\n") == 1 and "is no date of a session" in done.err
    assert sessions_in(tmp_path) == [journals(tmp_path)[0].stem]


def test_an_instructor_sees_who_agreed_and_nobody_else(practise: Practise, tmp_path: Path) -> None:
    practise(RIGHT, "Anna")
    practise(WRONG, "Bo")
    nobody = said_by("progress", "--instructor").out
    assert "Anna" not in nobody
    assert "Bo" not in nobody
    assert "2 students not shown" in nobody
    agreed = said_by("logbook", "consent", "ANNA", "yes")
    assert (agreed.code, "Agreed: ANNA." in agreed.out, "No session" in agreed.out) == (0, True, False)
    seen = said_by("progress", "--instructor").out
    assert "Anna" in seen
    assert "Bo" not in seen
    assert [each["student"] for each in asked("progress", "--instructor")["students"]] == ["Anna"]
    assert "'Bo' has not agreed" in trouble("progress", "--instructor", "--student", "Bo")
    assert "agreed: ANNA" in said_by("privacy").out
    said_by("logbook", "consent", "anna", "no")
    nobody_again = asked("progress", "--instructor")
    assert (nobody_again["students"], nobody_again["not_shown"]) == ([], 2)


def test_an_agreement_of_somebody_without_sessions_is_noted_and_said(practise: Practise) -> None:
    practise(RIGHT, "Anna")
    agreed = said_by("logbook", "consent", "Ana", "yes")
    assert agreed.code == 0
    assert "No session here is of Ana yet; did you mean 'Anna'?" in agreed.out
    assert "Agreed: Ana." in agreed.out


def test_an_agreement_that_cant_be_read_shows_nobody(practise: Practise, tmp_path: Path) -> None:
    practise()
    (tmp_path / "instructor-consent.json").write_text('{"agreed": "everybody"}')
    assert "does not say who has agreed" in trouble("progress", "--instructor")


def test_a_forgotten_session_is_out_of_the_logbook(practise: Practise, tmp_path: Path) -> None:
    practise(RIGHT, "Anna")
    practise(RIGHT, "Bo")
    said_by("logbook", "consent", "Anna", "yes")
    said_by("due")
    assert said_by("forget", "--student", "Anna", "--yes").code == 0
    assert sessions_in(tmp_path) == [journals(tmp_path)[0].stem]
    for file in tmp_path.iterdir():
        if file.is_file():
            assert b"Anna" not in file.read_bytes(), file


def test_rebuild_makes_the_same_again(practise: Practise, tmp_path: Path) -> None:
    practise(WRONG)
    before = asked("progress", "--student", "Anna")
    (tmp_path / "logbook.sqlite").write_bytes(b"not any more" * 1000)
    done = said_by("logbook", "rebuild")
    assert (done.code, "1 session entered" in done.out) == (0, True)
    after = asked("progress", "--student", "Anna")
    assert before | {"now": ""} == after | {"now": ""}


@pytest.mark.parametrize("command", [("due",), ("progress",), ("logbook", "rebuild")])
@pytest.mark.parametrize(
    "damage",
    [
        *(f"DROP TABLE {table}" for table in ("sessions", "practices", "calls", "passed_over", "catalogue")),
        "ALTER TABLE calls DROP COLUMN is_prompt",
        "ALTER TABLE sessions DROP COLUMN title",
    ],
)
def test_a_logbook_that_lacks_something_is_made_anew(
    command: tuple[str, ...], damage: str, practise: Practise, tmp_path: Path
) -> None:
    practise(WRONG)
    before = asked("progress", "--student", "Anna")
    connection = sqlite3.connect(tmp_path / "logbook.sqlite")
    connection.execute(damage)
    connection.commit()
    connection.close()
    done = said_by(*command)
    assert (done.code, done.err) == (0, "")
    after = asked("progress", "--student", "Anna")
    for told in ("sessions", "seconds", "weakest_calls"):  # what is due changes by the minute
        assert before[told] == after[told], told
    assert sessions_in(tmp_path) == [journals(tmp_path)[0].stem]


def newer(home: Path) -> bytes:
    connection = sqlite3.connect(home / "logbook.sqlite")
    connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    connection.commit()
    connection.close()
    return (home / "logbook.sqlite").read_bytes()


def test_a_newer_logbook_is_refused_and_not_touched_and_fails_no_session(
    practise: Practise, tmp_path: Path
) -> None:
    practise()
    said_by("due")
    before = newer(tmp_path)
    for command in (("due",), ("progress",), ("logbook", "rebuild")):
        assert "newer than this program" in trouble(*command)
    said = run(tmp_path)
    assert "Not in the logbook yet" in said
    assert "Debrief:" in said
    assert (tmp_path / "logbook.sqlite").read_bytes() == before
    assert len(journals(tmp_path)) == 2


def test_what_is_forgotten_is_removed_even_where_the_logbook_is_newer(
    practise: Practise, tmp_path: Path
) -> None:
    practise()
    said_by("due")
    newer(tmp_path)
    said = said_by("forget", "--all", "--yes")
    assert said.code == 2
    assert "removed, but not from the logbook yet" in said.err
    assert journals(tmp_path) == []


def test_flows_of_drills_that_changed_are_read_anew(practise: Practise, tmp_path: Path) -> None:
    """The flows of the built-in drills are kept; what was kept for other files is not used."""
    practise()
    first = asked("due")["new"]
    connection = sqlite3.connect(tmp_path / "logbook.sqlite")
    assert connection.execute("SELECT count(*) FROM catalogue").fetchone()[0] > len(first)
    connection.execute("UPDATE catalogue SET title = 'kept'")
    connection.commit()
    assert asked("due")["new"][0]["title"] == "kept"
    connection.execute("UPDATE catalogue SET fingerprint = 'of other files'")
    connection.commit()
    connection.close()
    assert asked("due")["new"] == first


@pytest.mark.parametrize("command", ["due", "progress"])
def test_where_nothing_is_new_no_drill_and_no_journal_is_loaded(command: str, practise: Practise) -> None:
    """Both are to answer within a second after a year of practice; to load what reads drills takes half of one."""
    practise()
    said_by("due")
    script = (
        "import sys; from voice_trainer.cli.main import main\n"
        f"code = main(['{command}', '--student', 'Anna'])\n"
        "print(*(name for name in sys.modules if name in sys.argv), 'are loaded', file=sys.stderr)\n"
        "sys.exit(code)"
    )
    heavy = (
        "pydantic",
        "voice_trainer.drills.model",
        "voice_trainer.journal.events",
        "numpy",
        "yaml",
        "rapidfuzz",
    )
    done = subprocess.run([sys.executable, "-c", script, *heavy], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "are loaded\n")
    assert done.stdout


def test_a_logbook_that_cant_be_written_fails_no_session_and_is_caught_up_with(tmp_path: Path) -> None:
    (tmp_path / "logbook.sqlite").mkdir(parents=True)
    said = run(tmp_path)
    assert len([line for line in said.splitlines() if "Not in the logbook yet" in line]) == 1
    assert "Debrief:" in said
    due = said_by("due", "--student", "Anna")  # read from the journals
    assert due.code == 0
    assert len(due.err.splitlines()) == 1
    assert "Later: brannock-clearance" in due.out
    (tmp_path / "logbook.sqlite").rmdir()
    run(tmp_path)
    assert sessions_in(tmp_path) == [path.stem for path in journals(tmp_path)]


def test_a_full_disk_fails_no_session(tmp_path: Path) -> None:
    """No file may grow beyond what a short journal takes, but a new logbook needs more."""
    most = 24_000
    done = subprocess.run(
        [
            sys.executable,
            "-B",  # or the limit would cut compiled modules off
            "-m",
            "voice_trainer",
            "run",
            "brannock-clearance",
            "--input=typed",
            "--student=Anna",
        ],
        input="+3\nturn left heading 310, maintain 2600\n",
        capture_output=True,
        text=True,
        check=False,
        env={
            "VOICE_TRAINER_HOME": str(tmp_path),
            "NO_COLOR": "1",
            "PYTHONPATH": str(Path(__file__).parents[2]),
        },
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most)),
        timeout=60,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "Not in the logbook yet" in done.stdout
    assert "nothing is lost" in done.stdout
    assert asked("progress", "--student", "Anna")["sessions"] == 1
    assert len(sessions_in(tmp_path)) == 1


def test_a_journal_that_was_written_elsewhere_is_in_no_logbook(tmp_path: Path) -> None:
    run(tmp_path, RIGHT, "--journal", tmp_path / "elsewhere.jsonl")
    assert not (tmp_path / "logbook.sqlite").exists()


def test_a_synthetic_students_session_is_not_the_users(practise: Practise, tmp_path: Path) -> None:
    journal = practise(RIGHT, "")
    header, rest = journal.read_text().split("\n", 1)
    fields = json.loads(header)
    fields["settings"]["input"] = "student"
    journal.write_text(json.dumps(fields) + "\n" + rest)
    assert asked("progress")["sessions"] == 0
    assert asked("progress", "--student", "synthetic student")["sessions"] == 1


HOSTILE = [
    "\u202eevil\u202c [bold]x[/bold] \u001b[31mred \u0007 ../../etc/passwd \U0001f6e9\ufe0f \u200f\u061c",
    "[link=file:///etc/passwd]",
    "\u2066a\u2069\x85b\u2028c\r\n| drop | table",
    "x" * 10_000,
    "\U0001f468\u200d\u2708\ufe0f" * 300,
]


@pytest.mark.parametrize("hostile", HOSTILE)
def test_hostile_text_is_shown_and_does_nothing(practise: Practise, hostile: str, tmp_path: Path) -> None:
    """Names and texts in a journal may be anybody's: what reaches a terminal is plain, on lines of bearable length."""
    practise(WRONG, hostile, f"T{hostile}"[:1999])
    (tmp_path / "instructor-consent.json").write_text(
        json.dumps({"agreed": [{"student": hostile, "agreed_utc": "2026-01-01T00:00:00+00:00"}]})
    )
    for command in (
        ("due",),
        ("progress", "--instructor"),
        ("progress", "--instructor", "--csv"),
        ("progress", "--instructor", "--csv", "calls"),
        ("progress", "--instructor", "--html"),
        ("privacy",),
    ):
        done = said_by(*command)
        assert (done.code, done.err) == (0, "")
        for sign in done.out.replace("\n", ""):
            assert unicodedata.category(sign) not in ("Cc", "Cf", "Zl", "Zp"), (command, sign)
        if "--csv" not in command:
            assert max(map(len, done.out.splitlines())) < 800
    assert asked("progress", "--instructor")["students"][0]["student"] == hostile


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("due", "--student", "\u202eAnna"), "is no name"),
        (("due", "--new", "-1"), "--new"),
        (("due", "--new", "1001"), "is no whole number from 0 to 1000"),
        (("logbook",), "is missing"),
        (("logbook", "consent", "Anna", "maybe"), "use yes or no"),
        (("logbook", "consent", "", "yes"), "is no name"),
        (("progress", "--json", "--csv"), "--csv does not go together with --json; leave one of them out"),
    ],
)
def test_what_is_not_meant_is_one_line(arguments: tuple[str, ...], says: str, tmp_path: Path) -> None:
    assert says in trouble(*arguments)
    assert not (tmp_path / "logbook.sqlite").exists()


def test_two_sessions_at_once(tmp_path: Path) -> None:
    with ThreadPoolExecutor() as both:
        said = [*both.map(run, [tmp_path] * 2)]
    assert not any("Not in the logbook" in each for each in said)
    assert len(sessions_in(tmp_path)) == 2
