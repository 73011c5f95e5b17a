"""A device that goes away in mid-session: the session pauses, says so, tries again, and goes on."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.pulse import PrivatePulse
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.debrief.report import debrief_of
from voice_trainer.journal.events import CueStarted, ListeningStarted, Paused, Resumed
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


def wait_for(journal: Path, event: str, seconds: float, times: int = 1) -> None:
    deadline = time.monotonic() + seconds
    while not (journal.exists() and journal.read_bytes().count(f'"event":"{event}"'.encode()) >= times):
        assert time.monotonic() < deadline, f"no '{event}' within {seconds} s"
        time.sleep(0.02)


def test_the_session_goes_on_when_the_device_is_back(tmp_path: Path) -> None:
    (tmp_path / "waiting.yaml").write_text(DRILL)
    journal = tmp_path / "session.jsonl"
    voice = Pyttsx3Voice()
    gear_down = voice.render("gear down", Casting.of(voice).style("student"))
    with PrivatePulse() as pulse:
        process = subprocess.Popen(
            [sys.executable, "-m", "voice_trainer", "run", str(tmp_path / "waiting.yaml"), "--input=mic",
             "--output=speaker", "--microphone=trainer_microphone", "--speaker=trainer_speaker",
             "--journal", str(journal)],
            env=pulse.env | {"VOICE_TRAINER_HOME": str(tmp_path), "NO_COLOR": "1"},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )  # fmt: skip
        try:
            wait_for(journal, "listening started", 30)
            time.sleep(1.0)
            pulse.kill()
            wait_for(journal, "paused", 5)
            time.sleep(8.0)  # longer than the window: it must not count
            pulse.start()
            wait_for(journal, "resumed", 10)
            # The trainer says that it is back, asks again, and is deaf meanwhile.
            wait_for(journal, "cue ended", 20, times=3)
            time.sleep(1.0)
            pulse.say(gear_down)
            out, _ = process.communicate(timeout=60)
        finally:
            process.kill()
    assert process.returncode == 0, out
    assert "Paused; trying again." in out
    assert "The audio device is back. Going on." in out
    kept = read_journal(journal)
    assert sum(isinstance(r, Paused) for r in kept.records) == 1
    assert sum(isinstance(r, Resumed) for r in kept.records) == 1
    assert any(isinstance(r, ListeningStarted) for r in kept.records)
    spoken = [r.text for r in kept.records if isinstance(r, CueStarted)]
    assert spoken[:3] == [
        "Say when the gear is down.",
        "The audio device is back. Going on.",
        "Say when the gear is down.",
    ]
    assert [v.verdict for v in debrief_of(kept.header, kept.records).grade.verdicts] == ["correct"]


BUSY = "import time\nuntil = time.monotonic() + 15\nwhile time.monotonic() < until: pass"


def test_a_busy_machine_is_no_lost_device_and_makes_nothing_missed(tmp_path: Path) -> None:
    (tmp_path / "waiting.yaml").write_text(DRILL)
    journal = tmp_path / "session.jsonl"
    voice = Pyttsx3Voice()
    gear_down = voice.render("gear down", Casting.of(voice).style("student"))
    busy: list[subprocess.Popen[bytes]] = []
    with PrivatePulse() as pulse:
        process = subprocess.Popen(
            [sys.executable, "-m", "voice_trainer", "run", str(tmp_path / "waiting.yaml"), "--input=mic",
             "--output=speaker", "--microphone=trainer_microphone", "--speaker=trainer_speaker",
             "--journal", str(journal)],
            env=pulse.env | {"VOICE_TRAINER_HOME": str(tmp_path), "NO_COLOR": "1"},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )  # fmt: skip
        try:
            wait_for(journal, "cue started", 60)
            busy += [subprocess.Popen([sys.executable, "-c", BUSY]) for _ in range(4)]
            wait_for(journal, "listening started", 60)
            time.sleep(1.0)
            pulse.suspend(3.0)  # the sound server is kept waiting, too
            time.sleep(1.0)
            pulse.say(gear_down)
            out, _ = process.communicate(timeout=90)
        finally:
            for each in busy:
                each.kill()
                each.wait()
            process.kill()
    assert process.returncode == 0, out
    assert "Paused" not in out
    kept = read_journal(journal)
    assert not any(isinstance(r, Paused) for r in kept.records)
    (settled,) = debrief_of(kept.header, kept.records).grade.verdicts
    assert settled.verdict in ("correct", "unclear"), settled.reason


@pytest.mark.parametrize(
    ("option", "says"), [("--microphone=nonesuch", "microphone"), ("--speaker=nonesuch", "speaker")]
)
def test_a_device_of_that_name_is_not_there(option: str, says: str, tmp_path: Path) -> None:
    with PrivatePulse() as pulse:
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "voice_trainer",
                "run",
                "kelda-outbound",
                "--input=mic",
                "--output=speaker",
                option,
            ],
            env=pulse.env | {"VOICE_TRAINER_HOME": str(tmp_path)},
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
    assert done.returncode == 2
    assert says in done.stderr
    assert "nonesuch" in done.stderr
    assert "Traceback" not in done.stderr


def test_without_any_device_a_synthetic_student_takes_over(tmp_path: Path) -> None:
    (tmp_path / "waiting.yaml").write_text(DRILL)
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "voice_trainer",
            "run",
            str(tmp_path / "waiting.yaml"),
            "--student-errors=none",
        ],
        env={"PATH": "/usr/bin:/bin", "HOME": str(tmp_path), "VOICE_TRAINER_HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "No usable microphone" in done.stdout
    assert "a synthetic student speaks" in done.stdout
    assert "gear           correct" in done.stdout


def test_a_microphone_that_is_asked_for_and_not_there_is_an_error(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "voice_trainer", "run", "kelda-outbound", "--input=mic"],
        env={"PATH": "/usr/bin:/bin", "HOME": str(tmp_path), "VOICE_TRAINER_HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 2
    assert len(done.stderr.strip().splitlines()) == 1
    assert "microphone" in done.stderr
