"""`kill -9` in mid-session: what had happened is in the journal, and the debrief works on it."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.journal.events import to_line

pytestmark = pytest.mark.slow

KILLS = 20
LINES = ["+1\n"] * 30 + [
    "time not required, turn right 333\n",
    "descend and maintain 2600\n",
    "set course 333\n",
    "Heron 24 kelda outbound\n",
    *["+1\n"] * 12,
    "start the clock\n",
    *["+1\n"] * 70,
    "turn left heading 288\n",
    "set course 153\n",
    *["+1\n"] * 25,
]
"""Typed at 50 lines a second: a session that is at another place whenever it is killed."""


@pytest.mark.parametrize("number", range(KILLS))
def test_killed_at_a_random_moment(number: int, tmp_path: Path) -> None:
    journal = tmp_path / "session.jsonl"
    process = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "voice_trainer",
            "run",
            "kelda-outbound",
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
    while not journal.exists() and process.poll() is None:
        time.sleep(0.01)
    lives = random.Random(number).uniform(0.1, 2.5)
    began = time.monotonic()
    for line in LINES:
        if time.monotonic() - began > lives:
            break
        process.stdin.write(line)
        process.stdin.flush()
        time.sleep(0.02)
    process.send_signal(signal.SIGKILL)
    printed = process.stdout.read()
    process.wait()
    process.stdin.close()
    process.stdout.close()

    kept = read_journal(journal)
    whole = [to_line(record) for record in kept.records]
    assert journal.read_text(encoding="utf-8").splitlines()[1 : len(whole) + 1] == whole
    # Whatever the student was shown had been written down before.
    for line in printed.splitlines():
        if "Instructor" in line or "Aeroplane" in line:
            text = line.split("Instructor")[-1].split("Aeroplane")[-1].strip()
            assert any(text in record for record in whole), line
    debrief = voice_trainer("debrief", journal, home=tmp_path)
    assert debrief.returncode == 0, debrief.stderr
    assert "the journal breaks off" in debrief.stdout or "Score" in debrief.stdout
    assert voice_trainer("regrade", journal, home=tmp_path).returncode in (0, 1)
