"""Ctrl-C at a terminal, and the like, while the program listens to a real microphone."""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from tests.live.test_lost_device import DRILL, wait_for
from tests.pulse import PrivatePulse
from tests.terminal import Terminal
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.debrief.report import debrief_of
from voice_trainer.journal.events import Ended, Heard
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

pytestmark = [pytest.mark.live, pytest.mark.slow]

CTRL_C = "\x03"


def begun(folder: Path, pulse: PrivatePulse, *more: str) -> Terminal:
    """The program on a terminal of its own; nothing is asked before it begins."""
    (folder / "waiting.yaml").write_text(DRILL)
    assert voice_trainer("privacy", "--keep=none", home=folder).returncode == 0
    command = [
        *(sys.executable, "-m", "voice_trainer", "run", str(folder / "waiting.yaml")),
        *("--input=mic", "--output=speaker", "--microphone=trainer_microphone", "--speaker=trainer_speaker"),
        *("--journal", str(folder / "session.jsonl"), *more),
    ]
    return Terminal(command, pulse.env | {"VOICE_TRAINER_HOME": str(folder), "NO_COLOR": "1"})


def verdicts(journal: Path) -> tuple[list[str], list[str]]:
    kept = read_journal(journal)
    grade = debrief_of(kept.header, kept.records).grade
    return [v.verdict for v in grade.verdicts], [r.reason for r in kept.records if isinstance(r, Ended)]


def test_ctrl_c_just_after_a_call_hears_it_out(tmp_path: Path) -> None:
    voice = Pyttsx3Voice()
    gear_down = voice.render("gear down", Casting.of(voice).style("student"))
    journal = tmp_path / "session.jsonl"
    # The quickest of the recognisers: on a busy machine another may not be done in the time that it is given. What it
    # makes of the call is not asked here.
    with PrivatePulse() as pulse, begun(tmp_path, pulse, "--engine=pocketsphinx") as terminal:
        wait_for(journal, "listening started", 60)
        time.sleep(1.0)
        pulse.say(gear_down, wait=True)
        time.sleep(0.3)  # until the last of it has come through the sound server
        terminal.press(CTRL_C)
        assert terminal.ends(60) == 0
    assert "Debrief: Waiting" in terminal.seen
    assert "Traceback" not in terminal.seen
    assert [type(r) for r in read_journal(journal).records if isinstance(r, Heard | Ended)][:1] == [Heard]
    said, ended = verdicts(journal)
    assert "missed" not in said
    assert ended == ["by the student"]


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_polite_kill_and_a_hang_up_end_it_in_good_order(number: signal.Signals, tmp_path: Path) -> None:
    journal = tmp_path / "session.jsonl"
    with PrivatePulse() as pulse, begun(tmp_path, pulse) as terminal:
        wait_for(journal, "listening started", 60)
        time.sleep(0.5)
        os.kill(terminal.pid, number)
        assert terminal.ends(60) == 0
    assert verdicts(journal) == ([], ["by the student"])


def test_ctrl_c_while_a_lost_device_is_waited_for(tmp_path: Path) -> None:
    journal = tmp_path / "session.jsonl"
    with PrivatePulse() as pulse, begun(tmp_path, pulse) as terminal:
        wait_for(journal, "listening started", 60)
        pulse.kill()
        wait_for(journal, "paused", 20)
        terminal.press(CTRL_C)
        assert terminal.ends(60) == 0
    assert verdicts(journal) == ([], ["by the student"])
