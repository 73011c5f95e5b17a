"""The doctor on a machine with devices: names, levels, and the delay where one hears the other."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import numpy as np
import pytest

from tests.cli.commands import voice_trainer
from tests.pulse import PrivatePulse
from voice_trainer.archive.delays_file import read_delays
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.audio.ports import SAMPLE_RATE_HZ
from voice_trainer.audio.soundcheck import best_fit
from voice_trainer.audio.wav import read_wav
from voice_trainer.journal.events import CueStarted
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

pytestmark = [pytest.mark.live, pytest.mark.slow]


def test_devices_levels_and_the_delay_of_a_loopback(tmp_path: Path) -> None:
    with PrivatePulse() as pulse:
        hum = (300 * np.sin(np.arange(16_000 * 180) * 0.05)).astype(np.int16)
        pulse.say(hum)
        looped = voice_trainer(
            "doctor",
            "--microphone=speaker_loopback",
            "--speaker=trainer_speaker",
            "--drill=brannock-clearance",
            home=tmp_path,
            env=pulse.env,
        )
        apart = voice_trainer(
            "doctor",
            "--microphone=trainer_microphone",
            "--speaker=trainer_speaker",
            "--drill=brannock-clearance",
            home=tmp_path,
            env=pulse.env,
        )
    delay = re.search(r"heard in the microphone (-?\d+) ms", looped.stdout)
    assert delay, looped.stdout
    assert -10 <= int(delay[1]) <= 60
    assert "the microphone delivers silence" in looped.stdout  # nothing sounds on the speaker but the chirp
    assert looped.returncode == 1
    assert "the speaker is not heard in the microphone" in apart.stdout
    floor = re.search(r"noise floor (-\d+) dBFS", apart.stdout)
    assert floor, apart.stdout
    assert -48 <= int(floor[1]) <= -40  # 300 of 32768, as a sine: -43.8 dBFS
    assert (apart.returncode, apart.stderr) == (0, "")
    assert "microphone: trainer_microphone" in apart.stdout


DRILL = """\
drill: short
title: Short
kind: radio
trains: nothing
limit_seconds: 4
steps:
  - step: ask
    when: start
    cue: {speaker: instructor, say: "Say when the gear is down."}
    flow: {calls: [{call: gear, say: "gear down"}]}
"""

LATENCY_SECONDS = 0.3


def cue_said_and_heard_seconds(folder: Path, pulse: PrivatePulse) -> tuple[float, float]:
    """When a live session says that its first cue began to sound, and where its own recording has it."""
    journal, heard = folder / "session.jsonl", folder / "heard.wav"
    done = voice_trainer(
        "run", folder / "short.yaml", "--input=mic", "--output=speaker", "--microphone=trainer_microphone",
        "--speaker=trainer_speaker", "--journal", journal, "--record", heard, home=folder, env=pulse.env,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    cue = next(r for r in read_journal(journal).records if isinstance(r, CueStarted))
    voice = Pyttsx3Voice()
    place, likeness = best_fit(voice.render(cue.text, Casting.of(voice).style(cue.speaker)), read_wav(heard))
    assert likeness > 0.9
    return cue.at_seconds, place / SAMPLE_RATE_HZ


def test_a_slow_speaker_is_measured_and_the_live_session_reckons_with_it(tmp_path: Path) -> None:
    devices = ("--microphone=trainer_microphone", "--speaker=trainer_speaker")
    (tmp_path / "short.yaml").write_text(DRILL)
    with PrivatePulse() as pulse:
        one = "--drill=brannock-clearance"
        unheard = voice_trainer("doctor", "--measure-delay", one, *devices, home=tmp_path, env=pulse.env)
        # The sound of the speaker comes to the microphone this much later, as through the air of a Bluetooth headset.
        subprocess.run(
            ["pactl", "load-module", "module-loopback", "source=speaker.monitor", "sink=micfeed",
             f"latency_msec={round(1000 * LATENCY_SECONDS)}"],
            env=pulse.env, check=True, capture_output=True,
        )  # fmt: skip
        measured = voice_trainer("doctor", "--measure-delay", one, *devices, home=tmp_path, env=pulse.env)
        known = voice_trainer("doctor", *devices, one, home=tmp_path, env=pulse.env)
        said_seconds, heard_seconds = cue_said_and_heard_seconds(tmp_path, pulse)
    assert "the tone was heard 0 of 5 times" in unheard.stdout
    assert unheard.returncode == 1
    print(measured.stdout)
    (delay,) = read_delays(tmp_path / "speaker-delays.json").values()
    assert delay == pytest.approx(LATENCY_SECONDS, abs=0.08)
    assert "noted, and taken into account from now on" in measured.stdout
    assert f"its sound comes {1000 * delay:.0f} ms later than it says" in known.stdout
    assert said_seconds == pytest.approx(heard_seconds, abs=0.1)
