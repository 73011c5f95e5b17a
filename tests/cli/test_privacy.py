"""The choice of what sound is kept: asked once, at a terminal, and kept to, also by a session that is killed."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.archive.consent_file import read_consent
from voice_trainer.audio.ports import SAMPLE_RATE_HZ
from voice_trainer.audio.wav import write_wav
from voice_trainer.journal.keep import KEEPS

ASK = """
from voice_trainer.cli.privacy import settle_sound
from voice_trainer.cli.terminal import console
print("CHOSEN", settle_sound(console(), {source!r}))
"""


def asked_at_a_terminal(home: Path, answers: str, source: str = "mic") -> str:
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-c", ASK.format(source=source)],
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


@pytest.mark.parametrize(
    ("answers", "chosen"),
    [
        ("\n", "none"),
        ("calls\n", "calls"),
        ("what?\nALL\n", "all"),
        ("x\ny\nz\n", "none"),
        ("no thanks\n", "none"),
        ("Nothing.\n", "none"),
        ("yes\nkeep disputed\n", "disputed"),
        ("yes\nyes\nyes\n", "none"),
    ],
)
def test_it_is_asked_once(answers: str, chosen: str, tmp_path: Path) -> None:
    said = asked_at_a_terminal(tmp_path, answers)
    assert "May sound of your sessions be kept" in said
    assert f"CHOSEN {chosen}" in said
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert (consent.keep, len(consent.chosen_utc)) == (chosen, len("2026-11-25T10:15:00+00:00"))
    assert (tmp_path / "consent.json").stat().st_mode & 0o777 == 0o600
    again = asked_at_a_terminal(tmp_path, "")
    assert "May sound" not in again
    assert f"CHOSEN {chosen}" in again


def test_who_is_no_person_at_a_terminal_is_not_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "CHOSEN none" in asked_at_a_terminal(tmp_path, "", source="student")
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    from voice_trainer.cli.privacy import settle_sound

    assert settle_sound(Console(), "mic") == "none"  # the tests' own input is no terminal
    assert not (tmp_path / "consent.json").exists()


def test_privacy_shows_and_changes_the_choice(tmp_path: Path) -> None:
    assert "Sound: none (nothing was chosen yet)" in voice_trainer("privacy", home=tmp_path).stdout
    for keep in KEEPS:
        assert f"Sound: {keep} (chosen 20" in voice_trainer("privacy", "--keep", keep, home=tmp_path).stdout
    assert "Sound: all" in voice_trainer("privacy", home=tmp_path).stdout
    assert "use none, disputed, calls and all" in one_line_of_trouble(
        voice_trainer("privacy", "--keep", "some", home=tmp_path)
    ).replace(" or ", " and ")


def test_a_choice_that_can_not_be_read_is_not_guessed(tmp_path: Path) -> None:
    (tmp_path / "consent.json").write_text('{"keep": "everything"}')
    done = voice_trainer("run", "brannock-clearance", "--input=typed", home=tmp_path)
    assert "privacy --keep none" in one_line_of_trouble(done)
    assert voice_trainer("privacy", "--keep", "none", home=tmp_path).returncode == 0
    assert voice_trainer("run", "brannock-clearance", "--input=typed", home=tmp_path).returncode == 0


@pytest.fixture
def silence(tmp_path: Path) -> Path:
    path = tmp_path / "silence.wav"
    write_wav(path, np.zeros(600 * SAMPLE_RATE_HZ, np.int16))
    return path


@pytest.mark.slow
@pytest.mark.parametrize(("keep", "spooled"), [("all", True), ("none", False)])
def test_a_killed_session_loses_no_sound_and_leaves_none_that_was_not_chosen(
    keep: str, spooled: bool, silence: Path, tmp_path: Path
) -> None:
    voice_trainer("privacy", "--keep", keep, home=tmp_path)
    process = subprocess.Popen(
        [sys.executable, "-m", "voice_trainer", "run", "brannock-clearance", f"--input={silence}", "--output=none"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=os.environ | {"VOICE_TRAINER_HOME": str(tmp_path)},
    )  # fmt: skip
    journals = tmp_path / "journals"
    until = time.monotonic() + 60
    while process.poll() is None and time.monotonic() < until:
        reached = [json.loads(line)["at_seconds"] for line in facts_of(journals)]
        if reached and reached[-1] > 5.0:
            break
        time.sleep(0.01)
    process.send_signal(signal.SIGKILL)
    process.wait()
    (journal,) = journals.glob("*.jsonl")
    spool = journal.with_suffix(".spool.wav")
    assert spool.exists() == spooled
    if spooled:
        last = json.loads(facts_of(journals)[-1])["at_seconds"]
        assert (spool.stat().st_size - 44) / 2 / SAMPLE_RATE_HZ >= last
    after = voice_trainer("privacy", "--keep", "none", home=tmp_path)
    assert after.returncode == 0
    assert ("was cut off" in after.stdout) == spooled
    assert [path for path in journals.rglob("*") if path.suffix == ".wav"] == []
    assert voice_trainer("debrief", home=tmp_path).returncode == 0


def facts_of(journals: Path) -> list[str]:
    """The whole lines behind the header of the one journal, none where there is none yet."""
    return [
        line
        for path in journals.glob("*.jsonl")
        for line in path.read_text(encoding="utf-8").split("\n")[1:-1]
    ]
