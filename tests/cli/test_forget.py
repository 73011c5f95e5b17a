"""Forgetting sessions: what is removed, what never is, and what is asked before."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer


@pytest.fixture
def home(tmp_path: Path) -> Path:
    for _ in range(2):
        done = voice_trainer("run", "brannock-clearance", "--input", "typed", home=tmp_path, stdin="+1\n")
        assert done.returncode == 0, done.stderr
    return tmp_path


def journals(home: Path) -> list[Path]:
    return sorted((home / "journals").glob("*.jsonl"))


def test_a_session_and_what_lies_beside_it_is_removed_and_nothing_else(home: Path) -> None:
    first, second = journals(home)
    beside = first.with_suffix(".reviews.jsonl")
    beside.write_text("{}")
    done = voice_trainer("forget", first.stem, "--yes", home=home)
    assert done.returncode == 0
    assert set(done.stdout.split()) == {"removed", str(first), str(beside)}
    assert journals(home) == [second]


def test_all_are_removed_and_then_there_is_nothing_left(home: Path) -> None:
    (home / "profile.json").write_text("{}")
    lines = voice_trainer("forget", "--all", "--yes", home=home).stdout.splitlines()
    assert [line.split()[0] for line in lines] == ["removed"] * 2
    assert journals(home) == []
    assert (home / "profile.json").exists()
    again = voice_trainer("forget", "--all", "--yes", home=home)
    assert (again.returncode, again.stdout.split()[:2]) == (0, ["No", "session"])


@pytest.mark.parametrize(
    ("names", "says"),
    [
        (("2", "--yes"), "may be 2 sessions"),
        (("no-such", "--yes"), "is no session"),
        (("../profile", "--yes"), "is no session"),
        (("", "--yes"), "is no session"),
        (("--yes",), "name a session to forget, or a --student, or say --all"),
        (("--all",), "say --yes"),
        (("--all", "2", "--yes"), "--all is every session, not '2' alone; leave one of them out"),
        (("--all", "--student", "Anna", "--yes"), "--all is every session, not --student 'Anna' alone"),
    ],
)
def test_what_is_not_meant_removes_nothing(names: tuple[str, ...], says: str, home: Path) -> None:
    assert says in one_line_of_trouble(voice_trainer("forget", *names, home=home))
    assert len(journals(home)) == 2


@pytest.mark.parametrize(("answer", "left"), [("n", 2), ("", 2), ("y", 0)])
def test_at_a_terminal_it_asks_first(answer: str, left: int, home: Path) -> None:
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "voice_trainer", "forget", "--all"],
        stdin=theirs,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        env=os.environ | {"VOICE_TRAINER_HOME": str(home), "NO_COLOR": "1"},
    )
    os.close(theirs)
    os.write(ours, f"{answer}\n".encode())
    said = process.communicate(timeout=60)[0].decode()
    os.close(ours)
    assert "Remove these for good?" in said
    assert process.returncode == (0 if left == 0 else 1)
    assert len(journals(home)) == left


def everything_of(journal: Path) -> list[Path]:
    """A session with all that there can be of one."""
    beside = [journal.with_suffix(suffix) for suffix in (".reviews.jsonl", ".spool.wav")]
    sound = journal.with_suffix(".sound")
    sound.mkdir()
    files = [*beside, sound / "session.wav", sound / "000001000.wav"]
    for file in files:
        file.write_text("...")
    return [journal, sound, *files]


def test_sound_reviews_and_a_spool_go_with_their_session(home: Path) -> None:
    first, second = journals(home)
    there = everything_of(first)
    done = voice_trainer("forget", first.stem, "--yes", home=home)
    assert done.returncode == 0
    assert not any(path.exists() for path in there)
    assert len(done.stdout.splitlines()) == 4
    assert list((home / "journals").iterdir()) == [second]


def test_what_a_journal_left_without_itself_is_forgotten_too(home: Path) -> None:
    first, _ = journals(home)
    there = everything_of(first)
    first.unlink()
    voice_trainer("forget", "--all", "--yes", home=home)
    assert not any(path.exists() for path in there)


def test_a_link_is_removed_and_not_what_it_leads_to(
    home: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    outside = tmp_path_factory.mktemp("outside")
    (outside / "precious.txt").write_text("mine")
    first, _ = journals(home)
    first.with_suffix(".sound").symlink_to(outside)
    assert voice_trainer("forget", first.stem, "--yes", home=home).returncode == 0
    assert not first.with_suffix(".sound").is_symlink()
    assert (outside / "precious.txt").read_text() == "mine"


def recorded_to(journal: Path, recording: Path) -> None:
    """As if the session had been run with --record."""
    header, *rest = journal.read_text().splitlines(keepends=True)
    recording.write_bytes(b"RIFF")
    fields = json.loads(header) | {"recording": str(recording)}
    journal.write_text("".join([json.dumps(fields) + "\n", *rest]))


@pytest.mark.parametrize("name", ["mine.wav", "profile.json", "journals/../../elsewhere.wav"])
def test_only_a_recording_in_the_data_folder_goes_with_its_session(
    name: str, home: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    first, _ = journals(home)
    recording = home / name
    recorded_to(first, recording)
    done = voice_trainer("forget", first.stem, "--yes", home=home)
    assert done.returncode == 0
    assert recording.exists() == (name != "mine.wav")
    assert ("it is yours to remove" in done.stdout) == name.endswith("elsewhere.wav")
    if name.endswith("elsewhere.wav"):
        recording.resolve().unlink()


def test_a_student_is_forgotten_and_the_others_are_not(home: Path) -> None:
    for student in ("Anna", "anna", "Bo"):
        voice_trainer(
            "run", "brannock-clearance", "--input", "typed", "--student", student, home=home, stdin="+1\n"
        )
    assert voice_trainer("forget", "--student", "ANNA", "--yes", home=home).returncode == 0
    left = [json.loads(path.read_text().splitlines()[0])["student"] for path in journals(home)]
    assert sorted(left) == ["", "", "Bo"]  # two of one second are in any order
    none = voice_trainer("forget", "--student", "Anna", "--yes", home=home)
    assert "no session of 'Anna' is kept" in one_line_of_trouble(none)


def test_a_session_that_runs_is_not_forgotten(home: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "voice_trainer", "run", "brannock-clearance", "--input=typed"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=os.environ | {"VOICE_TRAINER_HOME": str(home), "PYTHONUNBUFFERED": "1"},
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(b"+3\n")
    process.stdin.flush()
    while b"Controller" not in process.stdout.readline():
        pass
    done = voice_trainer("forget", "--all", "--yes", home=home)
    process.communicate(timeout=60)
    assert "is still running, so nothing was removed" in one_line_of_trouble(done)
    assert len(journals(home)) == 3
