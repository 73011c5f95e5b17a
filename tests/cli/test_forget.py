"""Forgetting sessions: what is removed, what never is, and what is asked before."""

from __future__ import annotations

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
        (("--yes",), "name a session to forget, or say --all"),
        (("--all",), "say --yes"),
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
