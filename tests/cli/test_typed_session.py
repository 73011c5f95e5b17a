"""A typed session from `run` to `debrief` and `regrade`, against golden files."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.journal.events import Ended

GOLDEN = Path(__file__).parent / "golden"

SCRIPTS = {
    "kelda-outbound": """\
+16
time not required, turn right 323
set course 333
descend and maintain 2600
Heron 24 kelda outbound
correction, turn right heading 333
+8
start the clock
+60
turn left heading 288
+16
+14
+3
clock started
""",
    "brannock-clearance": """\
+3
turn left heading 310, maintain 2600, cleared for the VOR runway 33 approach, Heron 24
+4
maintain 2900, Heron 24
+3
altimeter 29 84
""",
}


def debrief_in(printed: str) -> str:
    """The debrief, without what differs from run to run."""
    text = printed[printed.index("Debrief: ") :]
    text = re.sub(r"\d{4}-\d\d-\d\dT[\d:+]+", "DATE", text)
    return re.sub(r"^Journal: .*\n", "", text, flags=re.MULTILINE)


@pytest.mark.parametrize("drill", SCRIPTS)
def test_run_debrief_and_regrade_agree(drill: str, tmp_path: Path) -> None:
    journal = tmp_path / "session.jsonl"
    typed = ("--input=typed", "--mode=fly-through", "--journal", journal)
    run = voice_trainer("run", drill, *typed, home=tmp_path, stdin=SCRIPTS[drill])
    assert (run.returncode, run.stderr) == (0, "")
    golden = (GOLDEN / f"{drill}.txt").read_text(encoding="utf-8")
    assert debrief_in(run.stdout) == golden
    debrief = voice_trainer("debrief", journal, home=tmp_path)
    assert (debrief.returncode, debrief_in(debrief.stdout)) == (0, golden)
    regrade = voice_trainer("regrade", journal, home=tmp_path)
    assert regrade.returncode == 0
    assert "the same as live" in regrade.stdout


def test_a_journal_stands_alone_and_is_its_owners_only(tmp_path: Path) -> None:
    voice_trainer("run", "brannock-clearance", "--input", "typed", home=tmp_path, stdin="+5\n")
    (path,) = (tmp_path / "journals").glob("*.jsonl")
    assert path.stat().st_mode & 0o777 == 0o600
    journal = read_journal(path)
    assert journal.header.drill["drill"] == "brannock-clearance"
    assert [step["step"] for step in journal.header.drill["steps"]][-1] == "amendment"
    latest = voice_trainer("debrief", home=tmp_path)
    assert "Approach clearance" in latest.stdout


def test_pipes_and_no_color_get_plain_text(tmp_path: Path) -> None:
    run = voice_trainer(
        "run", "brannock-clearance", "--input", "typed", home=tmp_path, stdin=SCRIPTS["brannock-clearance"]
    )
    assert "\x1b" not in run.stdout
    assert all(ord(c) < 128 for c in run.stdout)


def test_ctrl_c_ends_the_session_and_debriefs(tmp_path: Path) -> None:
    journal = tmp_path / "session.jsonl"
    process = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "voice_trainer",
            "run",
            "brannock-clearance",
            "--input=typed",
            "--journal",
            journal,
        ],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=os.environ | {"VOICE_TRAINER_HOME": str(tmp_path), "NO_COLOR": "1", "PYTHONUNBUFFERED": "1"},
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("+3\n")
    process.stdin.flush()
    while "Controller" not in process.stdout.readline():
        pass
    process.send_signal(signal.SIGINT)
    out, _ = process.communicate(timeout=30)
    assert process.returncode == 0
    assert "ended: by the student" in out
    assert "Nothing was practised" in out
    assert "Score" not in out
    assert read_journal(journal).torn is None


TWO_CALLS = """\
drill: two
title: Two
kind: radio
trains: patience
steps:
  - step: speak
    when: start
    flow:
      calls:
        - {call: gear, say: gear down}
        - {call: flaps, say: flaps up}
"""


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_polite_signal_ends_a_drill_in_good_order(number: signal.Signals, tmp_path: Path) -> None:
    journal = tmp_path / "session.jsonl"
    drill = tmp_path / "two.yaml"
    drill.write_text(TWO_CALLS)
    process = subprocess.Popen(
        [sys.executable, "-m", "voice_trainer", "run", drill, "--input=typed", "--journal", journal],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=os.environ | {"VOICE_TRAINER_HOME": str(tmp_path), "NO_COLOR": "1", "PYTHONUNBUFFERED": "1"},
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("gear down\n")
    process.stdin.flush()
    while "heard: speak, gear" not in process.stdout.readline():
        pass
    process.send_signal(number)
    out, _ = process.communicate(timeout=30)
    assert process.returncode == 0
    assert "Score 100 %: 1 of 1 points." in out
    assert ". flaps          not reached" in out
    (end,) = (r for r in read_journal(journal).records if isinstance(r, Ended))
    assert end.reason == "by the student"


def test_what_was_still_due_at_the_end_is_not_reached_anywhere(tmp_path: Path) -> None:
    drill = tmp_path / "two.yaml"
    drill.write_text(TWO_CALLS)
    done = voice_trainer("run", drill, "--input=typed", home=tmp_path, stdin="gear down\n+2\ntrainer end\n")
    assert "Score 100 %: 1 of 1 points." in done.stdout
    assert "missed" not in done.stdout.partition("Total:")[0]
    due = json.loads(voice_trainer("due", "--json", home=tmp_path).stdout)
    assert [each["step"] for each in (*due["due"], *due["later"])] == []
    progress = json.loads(voice_trainer("progress", "--json", home=tmp_path).stdout)
    assert (progress["weakest_calls"], progress["total"]["calls"]) == ([], 0)


def test_a_line_that_begins_like_a_time_is_no_call(tmp_path: Path) -> None:
    done = voice_trainer("run", "kelda-outbound", "--input=typed", home=tmp_path, stdin="+five\n+ 2\n")
    assert "'+five' is no time and nothing said; +5 lets five seconds pass." in done.stdout.splitlines()
    assert "Nothing was practised" in done.stdout
    assert "'+ 2'" not in done.stdout


@pytest.mark.parametrize("said", ["", "+3\n", "trainer end\n"])
def test_where_nothing_was_said_nothing_was_practised(said: str, tmp_path: Path) -> None:
    done = voice_trainer("run", "kelda-outbound", "--input=typed", home=tmp_path, stdin=said)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Nothing was practised: nothing was said before the session ended." in done.stdout
    assert "Score" not in done.stdout
    assert "missed" not in done.stdout
    again = voice_trainer("debrief", home=tmp_path)
    assert "Nothing was practised" in again.stdout


def test_who_is_silent_to_the_end_has_missed_everything(tmp_path: Path) -> None:
    done = voice_trainer("run", "kelda-outbound", "--input=typed", home=tmp_path, stdin="+900\n")
    assert "Score 0 %" in done.stdout


def test_a_frozen_session_does_not_wait_for_ever(tmp_path: Path) -> None:
    done = voice_trainer(
        "run",
        "kelda-outbound",
        "--input=typed",
        home=tmp_path,
        stdin="trainer freeze\n+99999999999\n",
        timeout=50,
    )
    assert done.returncode == 0
