"""`run --due`: one session of what is due, as a user runs it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.archive.journal_file import read_journal

ANNA = "--student=Anna"

# The first of two new flows is wrong, the second right, and the first is right when it comes back.
SAID = "five hundred to go\n+6\ntwo niner eight four set\none thousand to go\n"


def practise(home: Path, said: str, *more: str) -> str:
    done = voice_trainer(
        *("run", "--due", "--input=typed", "--mode=fly-through", ANNA, *more), home=home, stdin=said
    )
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def steps(home: Path) -> list[str]:
    """What was practised, in the order of time."""
    kept = sorted((home / "journals").glob("*.jsonl"), key=lambda path: path.stat().st_mtime)
    return [read_journal(path).header.drill["steps"][-1]["step"] for path in kept]


def test_what_failed_comes_back_and_the_logbook_knows_it_all(tmp_path: Path) -> None:
    out = practise(tmp_path, SAID, "--new=2")
    assert "Nothing is due. Two new: one callout and one checklist item." in out
    assert steps(tmp_path) == ["one thousand to go", "altimeter", "one thousand to go"]
    assert out.count("Journal: ") == 3
    assert "Practice: 2 flows" in out
    assert "one thousand to go, again: " in out
    due = json.loads(voice_trainer("due", ANNA, "--json", home=tmp_path).stdout)
    state = {each["step"]: each for each in due["later"]}
    assert {step: (each["practised"], each["failed"]) for step, each in state.items()} == {
        "one thousand to go": (2, 1),
        "altimeter": (1, 0),
    }
    # Nothing more is new today, and nothing is due.
    again = practise(tmp_path, "", "--new=2")
    assert "Nothing is due, and nothing is new today" in again
    assert len(steps(tmp_path)) == 3


def test_what_is_skipped_is_answered_and_comes_back(tmp_path: Path) -> None:
    out = practise(tmp_path, "+9\ntrainer skip\none thousand to go\n", "--new=1")
    assert steps(tmp_path) == ["one thousand to go"] * 2
    assert "one thousand to go: skipped" in out


def test_the_session_ends_when_it_is_told_to(tmp_path: Path) -> None:
    practise(tmp_path, "one thousand to go\ntrainer stop\n", "--new=5")
    assert steps(tmp_path) == ["one thousand to go", "altimeter"]


def test_what_the_end_cuts_short_is_neither_right_nor_wrong(tmp_path: Path) -> None:
    done = voice_trainer("run", "--due", "--input=typed", home=tmp_path, stdin="good morning\n")
    assert done.returncode == 0
    practice = done.stdout.partition("Practice: ")[2]
    assert (
        "  . Callouts to minimums and the missed approach, one thousand to go: cut short, not rated"
        in practice
    )
    assert "What to work on" not in practice


def test_the_drill_of_a_file_that_is_not_at_hand_is_practised_from_its_journal(tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    made = voice_trainer("new", "checklist", "mine", "--out", str(file), home=tmp_path)
    assert made.returncode == 0
    wrong = voice_trainer(
        *("run", str(file), "--input=typed", "--mode=fly-through", ANNA), home=tmp_path, stdin="+200\n"
    )
    assert wrong.returncode == 0
    file.unlink()
    _put_back_an_hour(tmp_path)
    out = practise(tmp_path, "+5\n", "--new=0")
    assert "due: " in out
    assert len({read_journal(p).header.drill["drill"] for p in (tmp_path / "journals").glob("*.jsonl")}) == 1
    assert len(steps(tmp_path)) > 1


def _put_back_an_hour(home: Path) -> None:
    """What was practised just now was practised a month ago."""
    (path,) = (home / "journals").glob("*.jsonl")
    head, _, rest = path.read_text().partition("\n")
    header = json.loads(head)
    header["started_utc"] = "2026-01-01T10:00:00+00:00"
    path.write_text(f"{json.dumps(header)}\n{rest}")


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--due", "brannock-clearance"], "--due chooses what is practised"),
        (["--due", "--journal=x.jsonl"], "--journal"),
        (["--due", "--input=x.wav"], "--input"),
        (["--due", "--minutes=0"], "no whole number from 1 to 120"),
        (["brannock-clearance", "--minutes=5"], "--minutes is for --due"),
        ([], "DRILL is missing"),
    ],
)
def test_what_can_not_be_is_said_in_one_line(options: list[str], says: str, tmp_path: Path) -> None:
    assert says in one_line_of_trouble(voice_trainer("run", *options, home=tmp_path))
    assert not list(tmp_path.glob("journals/*"))
