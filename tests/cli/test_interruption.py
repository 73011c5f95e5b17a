"""Ctrl-C and the like while the whole conversation goes on."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from voice_trainer.archive.journal_file import read_journal
from voice_trainer.journal.events import Ended


@pytest.mark.slow
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_in_a_drill_it_ends_the_drill_and_the_conversation(number: signal.Signals, tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "voice_trainer", "handsfree", "--input=student", "--output=none"],
        env=os.environ | {"VOICE_TRAINER_HOME": str(tmp_path), "NO_COLOR": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    deadline = time.monotonic() + 60
    while not any(b'"cue started"' in path.read_bytes() for path in tmp_path.glob("journals/*.jsonl")):
        assert process.poll() is None
        assert time.monotonic() < deadline
        time.sleep(0.01)
    process.send_signal(number)
    out, errors = process.communicate(timeout=60)
    assert (process.returncode, errors) == (0, "")
    assert out.rstrip().endswith("Ended.")
    (journal,) = tmp_path.glob("journals/*.jsonl")
    assert [r.reason for r in read_journal(journal).records if isinstance(r, Ended)] == ["by the student"]
