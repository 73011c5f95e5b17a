"""A second look by an instructor: what is shown and heard, and that an overruling is added and nothing erased."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.archive.review_file import add_review, read_reviews
from voice_trainer.archive.session_files import reviews_of, utterance_sound
from voice_trainer.audio.wav import write_wav
from voice_trainer.journal.events import Heard
from voice_trainer.journal.reviewing import Overruling

DRILL = """\
drill: two-calls
title: Two calls
kind: radio
trains: testing
steps:
  - step: vector
    when: start
    cue: {speaker: controller, say: "turn left heading {heading: 310}."}
    flow:
      name: readback
      calls:
        - {call: heading, say: "turn left [heading] {heading: 310}"}
        - {call: gear, say: "gear down"}
        - {call: flaps, say: "flaps up"}
  - {step: later, when: settled, after_seconds: 20, cue: {speaker: controller, say: "good day."}}
"""
SAID = "+3\nturn left heading 320\ngear down\n+20\ntrainer, I said flaps up\n+60\n"


@pytest.fixture
def home(tmp_path: Path) -> Path:
    (tmp_path / "drill.yaml").write_text(DRILL)
    done = voice_trainer(
        "run", tmp_path / "drill.yaml", "--input=typed", "--mode=fly-through", home=tmp_path, stdin=SAID
    )
    assert done.returncode == 0, done.stderr
    return tmp_path


def journal_in(home: Path) -> Path:
    (journal,) = [path for path in (home / "journals").glob("*.jsonl") if ".reviews" not in path.name]
    return journal


def overrule(home: Path, call: str, verdict: str, why: str = "I heard it.", by: str = "Anna Berg") -> str:
    done = voice_trainer(
        "review",
        journal_in(home).stem,
        "--call",
        call,
        "--verdict",
        verdict,
        "--why",
        why,
        "--by",
        by,
        home=home,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_disputed_calls_come_first_and_correct_ones_only_when_asked_for(home: Path) -> None:
    shown = voice_trainer("review", home=home).stdout
    assert "1 of 2: vector/flaps: disputed." in shown
    assert "2 of 2: vector/heading: wrong value. Said heading 320; it is heading 310." in shown
    assert "said      turn left heading three two zero" in shown
    assert "none was kept" in shown
    assert "vector/gear" not in shown
    assert "3 of 3: vector/gear: correct." in voice_trainer("review", "--all", home=home).stdout
    assert not reviews_of(journal_in(home)).exists()


def test_the_grade_is_shown_with_and_without(home: Path) -> None:
    before = journal_in(home).read_bytes()
    said = overrule(home, "vector/heading", "correct", "The recogniser erred: it was 310.")
    assert "Score 50 %: 1 of 2 points." in said
    assert "After review 100 %: 2 of 2 points (reviewed by Anna Berg)." in said
    for command in ("debrief", "regrade"):
        done = voice_trainer(command, home=home)
        assert done.returncode == 0, done.stderr
        assert "Score 50 %" in done.stdout
        assert "After review 100 %" in done.stdout
        assert "review    wrong value -> correct, Anna Berg, 20" in done.stdout
        assert "The recogniser erred: it was 310." in done.stdout
        assert "Nothing to correct." in done.stdout
    assert journal_in(home).read_bytes() == before


def test_a_disputed_call_counts_again_once_it_is_decided(home: Path) -> None:
    assert "After review 33 %: 1 of 3 points" in overrule(home, "vector/flaps", "missed")


def test_earlier_overrulings_stay_visible(home: Path) -> None:
    overrule(home, "vector/heading", "correct", by="Anna Berg")
    overrule(home, "vector/heading", "incomplete", "No callsign.", by="Bo")
    shown = voice_trainer("debrief", home=home).stdout
    first, second = (line for line in shown.splitlines() if "review    " in line)
    assert "wrong value -> correct, Anna Berg" in first
    assert "correct -> incomplete, Bo" in second
    assert "After review 75 %: 1.5 of 2 points (reviewed by Anna Berg, Bo)." in shown
    assert reviews_of(journal_in(home)).stat().st_mode & 0o777 == 0o600
    assert len(reviews_of(journal_in(home)).read_text().splitlines()) == 2


def test_reviews_are_no_session_of_their_own(home: Path) -> None:
    overrule(home, "vector/heading", "correct")
    assert "Two calls" in voice_trainer("debrief", home=home).stdout
    gone = voice_trainer("forget", journal_in(home).stem, "--yes", home=home)
    assert gone.returncode == 0
    assert list((home / "journals").iterdir()) == []


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--call", "vector/hedding", "--verdict", "correct", "--why", "x", "--by", "A"), "'vector/heading'?"),
        (("--call", "vector/heading", "--verdict", "right", "--why", "x", "--by", "A"), "--verdict"),
        (("--call", "vector/heading", "--verdict", "disputed", "--why", "x", "--by", "A"), "--verdict"),
        (("--call", "vector/heading", "--verdict", "correct", "--by", "A"), "--why is missing"),
        (("--call", "vector/heading", "--verdict", "correct", "--why", " ", "--by", "A"), "no reason"),
        (("--call", "vector/heading", "--why", "x", "--verdict", "correct"), "--by is missing"),
        (("--verdict", "correct"), "give --call STEP/CALL"),
        (("no-such-session",), "is no session"),
        (("--speaker", "no such device"), "speaker"),
    ],
)  # fmt: skip
def test_what_can_not_be_done_is_one_line_and_changes_nothing(
    arguments: tuple[str, ...], says: str, home: Path
) -> None:
    assert says in one_line_of_trouble(voice_trainer("review", *arguments, home=home))
    assert not reviews_of(journal_in(home)).exists()


def at_a_terminal(home: Path, answers: str) -> str:
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "voice_trainer", "review", "--output=none"],
        stdin=theirs,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        env=os.environ | {"VOICE_TRAINER_HOME": str(home), "NO_COLOR": "1"},
    )
    os.close(theirs)
    os.write(ours, answers.encode())
    said = process.communicate(timeout=60)[0].decode()
    os.close(ours)
    assert process.returncode == 0, said
    return said


def test_at_a_terminal_it_goes_from_call_to_call(home: Path) -> None:
    said = at_a_terminal(home, "nonsense\nmissed\nNot on the tape.\nAnna Berg\ncorrect\nIt was 310.\n")
    assert "Say correct, late, early" in said
    assert said.count("Your name") == 1
    assert "After review 67 %: 2 of 3 points" in said
    assert [(each.call, each.verdict, each.by) for each in read_reviews(journal_in(home))] == [
        ("flaps", "missed", "Anna Berg"),
        ("heading", "correct", "Anna Berg"),
    ]


@pytest.mark.parametrize("answers", ["\n\n", "q\n", "correct\n\nAnna\n\n"])
def test_what_is_left_as_it_was_leaves_no_review(answers: str, home: Path) -> None:
    at_a_terminal(home, answers)
    assert read_reviews(journal_in(home)) == ()


def test_it_says_how_much_sound_there_is(home: Path) -> None:
    journal = journal_in(home)
    first = next(r.hearing for r in read_journal(journal).records if isinstance(r, Heard))
    sound = utterance_sound(journal, first.start_seconds)
    sound.parent.mkdir()
    write_wav(sound, np.zeros(100_000, np.int16))
    seconds = first.end_seconds - first.start_seconds
    assert f"sound     1 utterance, {seconds:.1f} s" in voice_trainer("review", home=home).stdout


def test_half_a_line_swallows_no_other(home: Path) -> None:
    overrule(home, "vector/heading", "correct")
    log = reviews_of(journal_in(home))
    log.write_bytes(log.read_bytes()[:-20])
    assert read_reviews(journal_in(home)) == ()
    overrule(home, "vector/heading", "late")
    assert [each.verdict for each in read_reviews(journal_in(home))] == ["late"]


def test_a_line_that_is_no_review_is_told(home: Path) -> None:
    add_review(
        journal_in(home),
        Overruling(step="vector", call="gear", was="correct", verdict="late", why="x", by="A", at_utc="now"),
    )
    log = reviews_of(journal_in(home))
    log.write_text(log.read_text() + json.dumps({"step": "vector"}) + "\n")
    assert "this line of the reviews is damaged" in one_line_of_trouble(voice_trainer("debrief", home=home))
