"""The program itself, live on a pseudo-terminal: keys, push to talk, and a process that stands still as in a sleep."""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from tests.pulse import PrivatePulse, Samples
from tests.terminal import Terminal
from voice_trainer.archive.journal_file import Journal, read_journal
from voice_trainer.debrief.report import debrief_of
from voice_trainer.journal.events import CueStarted, Ended, Heard, Ordered, Paused, Resumed
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

pytestmark = [pytest.mark.live, pytest.mark.slow]

DRILL = """\
drill: waiting
title: Waiting
kind: radio
trains: patience
steps:
  - step: ask
    when: start
    cue: {speaker: instructor, say: "Say when the gear is down."}
    flow:
      calls:
        - call: gear
          say: "gear down"
          window: {within_seconds: 6}
"""
LONGER_THAN_THE_WINDOW_SECONDS = 8.0


def saying(text: str) -> Samples:
    voice = Pyttsx3Voice()
    return voice.render(text, Casting.of(voice).style("student"))


def begin(pulse: PrivatePulse, folder: Path, *options: str) -> Terminal:
    (folder / "waiting.yaml").write_text(DRILL)
    command = [
        sys.executable, "-m", "voice_trainer", "run", str(folder / "waiting.yaml"), "--input=mic", "--output=speaker",
        "--microphone=trainer_microphone", "--speaker=trainer_speaker", "--journal", str(folder / "session.jsonl"),
        *options,
    ]  # fmt: skip
    terminal = Terminal(command, pulse.env | {"VOICE_TRAINER_HOME": str(folder), "NO_COLOR": "1"})
    # At a terminal, whoever has not been asked yet is asked once what sound may be kept.
    terminal.wait_for("Which? [none]", 30)
    terminal.press("\n")
    return terminal


def wait_for(folder: Path, event: str, seconds: float = 30) -> None:
    journal, wanted = folder / "session.jsonl", f'"event":"{event}"'.encode()
    deadline = time.monotonic() + seconds
    while not (journal.exists() and wanted in journal.read_bytes()):
        assert time.monotonic() < deadline, f"no '{event}' within {seconds} s"
        time.sleep(0.02)


def ended(terminal: Terminal, folder: Path) -> tuple[Journal, list[str]]:
    before = terminal.mode()
    assert terminal.ends(60) == 0, terminal.seen
    assert terminal.mode() != before  # single keys to the end, then as it was
    journal = read_journal(folder / "session.jsonl")
    return journal, [v.verdict for v in debrief_of(journal.header, journal.records).grade.verdicts]


def test_keys_freeze_repeat_and_end(tmp_path: Path) -> None:
    with PrivatePulse() as pulse, begin(pulse, tmp_path) as terminal:
        terminal.wait_for("Keys: p freezes", 30)
        wait_for(tmp_path, "listening started")
        terminal.press("p")
        wait_for(tmp_path, "paused")
        time.sleep(LONGER_THAN_THE_WINDOW_SECONDS)
        terminal.press("p")
        wait_for(tmp_path, "resumed")
        terminal.press("r")
        time.sleep(4.0)
        pulse.say(saying("gear down"))
        journal, verdicts = ended(terminal, tmp_path)
    assert verdicts == ["correct"]
    assert [r.order for r in journal.records if isinstance(r, Ordered)] == ["freeze", "continue", "say again"]
    over = next(r.at_seconds for r in journal.records if isinstance(r, Ended))
    assert sum(isinstance(r, CueStarted) and r.at_seconds <= over for r in journal.records) == 2


def test_only_what_is_said_while_the_space_bar_is_held_is_heard(tmp_path: Path) -> None:
    with PrivatePulse() as pulse, begin(pulse, tmp_path, "--push-to-talk") as terminal:
        terminal.wait_for("the space bar talks", 30)
        wait_for(tmp_path, "listening started")
        time.sleep(0.3)
        pulse.say(saying("gear up"), wait=True)  # by somebody else in the room
        time.sleep(1.0)
        terminal.press(" ")
        pulse.say(saying("gear down"))
        for repeat in range(50):  # as a keyboard repeats a key that is held
            time.sleep(0.4 if repeat == 0 else 0.03)
            terminal.press(" ")
        journal, verdicts = ended(terminal, tmp_path)
    assert verdicts == ["correct"]
    assert [r.hearing.text for r in journal.records if isinstance(r, Heard)] == ["gear down"]


def test_a_process_that_stood_still_pauses_until_it_is_asked_to_go_on(tmp_path: Path) -> None:
    with PrivatePulse() as pulse, begin(pulse, tmp_path) as terminal:
        wait_for(tmp_path, "listening started")
        time.sleep(0.5)
        os.kill(terminal.pid, signal.SIGSTOP)
        time.sleep(LONGER_THAN_THE_WINDOW_SECONDS)
        os.kill(terminal.pid, signal.SIGCONT)
        wait_for(tmp_path, "paused", 10)
        time.sleep(LONGER_THAN_THE_WINDOW_SECONDS)  # nobody has asked yet
        pulse.say(saying("trainer, continue"), wait=True)
        wait_for(tmp_path, "resumed", 10)
        time.sleep(1.0)
        pulse.say(saying("gear down"))
        journal, verdicts = ended(terminal, tmp_path)
    assert verdicts == ["correct"]
    assert [r.reason for r in journal.records if isinstance(r, Paused)] == ["asleep"]
    assert sum(isinstance(r, Resumed) for r in journal.records) == 1
    assert any("asleep" in r.text for r in journal.records if isinstance(r, CueStarted))


def test_push_to_talk_without_a_keyboard_is_refused(tmp_path: Path) -> None:
    with PrivatePulse() as pulse:
        done = voice_trainer(
            "run", "kelda-outbound", "--input=mic", "--push-to-talk", home=tmp_path, env=pulse.env
        )
    assert "--push-to-talk" in one_line_of_trouble(done)
