"""`record` on real devices: prompts are answered after their tone, from outside the program."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from tests.pulse import PrivatePulse, Samples, SpeakerRecording
from voice_trainer.audio.soundcheck import best_fit
from voice_trainer.audio.wav import read_wav
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

pytestmark = [pytest.mark.live, pytest.mark.slow]

PROMPTS = ("turn left heading two eight four", "gear down", "squawk four one seven zero")
REACTION_SECONDS = 1.5
"""After the prompt is shown: by then its tone has sounded."""


def test_what_is_said_after_the_tone_is_kept_and_what_is_too_loud_is_asked_for_again(tmp_path: Path) -> None:
    voice = Pyttsx3Voice()
    clips = {text: voice.render(text, VoiceStyle("gmw/en-us")) // 2 for text in PROMPTS}
    loud: Samples = np.clip(clips["gear down"].astype(np.int32) * 40, -32768, 32767).astype(np.int16)
    (tmp_path / "prompts.txt").write_text("\n".join(PROMPTS))
    printed: list[str] = []
    with PrivatePulse() as pulse:
        command = [
            sys.executable, "-m", "voice_trainer", "record", str(tmp_path / "prompts.txt"),
            "--out", str(tmp_path / "corpus"), "--microphone=trainer_microphone", "--loudspeaker=trainer_speaker",
            "--condition=virtual cable",
        ]  # fmt: skip
        env = os.environ | pulse.env | {"PYTHONUNBUFFERED": "1", "VOICE_TRAINER_HOME": str(tmp_path)}
        with subprocess.Popen(
            command, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        ) as program:
            assert program.stdout and program.stderr
            for line in program.stdout:
                printed.append(line.strip())
                text = line.partition("] ")[2].strip()
                if text in clips:
                    time.sleep(REACTION_SECONDS)
                    pulse.say(loud if text == "gear down" else clips[text])
                elif "once more" in line:
                    time.sleep(REACTION_SECONDS)
                    pulse.say(clips["gear down"])
            trouble = program.stderr.read()
    assert (program.returncode, trouble) == (0, ""), printed
    assert any("too loud for the microphone" in line for line in printed)
    lines = [json.loads(line) for line in (tmp_path / "corpus" / "manifest.jsonl").read_text().splitlines()]
    assert [line["said"] for line in lines] == list(PROMPTS)
    assert {line["condition"] for line in lines} == {"virtual cable"}
    for line in lines:
        kept = read_wav(tmp_path / "corpus" / line["file"])
        # The null sinks are bit-exact, but for the resampling to 48 kHz and back.
        likeness = {text: best_fit(clip, np.pad(kept, 16_000))[1] for text, clip in clips.items()}
        assert max(likeness, key=lambda text: likeness[text]) == line["said"], likeness
        assert likeness[line["said"]] > 0.9


def test_a_prompt_that_is_spoken_is_heard_from_the_speaker_and_never_kept(tmp_path: Path) -> None:
    """The speaker is heard in the microphone here: what the trainer says must not be taken for the student."""
    (tmp_path / "prompts.txt").write_text("gear down\n")
    voice = Pyttsx3Voice()
    said = voice.render("gear down", VoiceStyle("gmw/en-us")) // 2
    with PrivatePulse() as pulse, SpeakerRecording(pulse) as speaker:
        command = [
            sys.executable, "-m", "voice_trainer", "record", str(tmp_path / "prompts.txt"), "--speak",
            "--out", str(tmp_path / "corpus"), "--microphone=speaker_loopback", "--loudspeaker=trainer_speaker",
        ]  # fmt: skip
        env = os.environ | pulse.env | {"VOICE_TRAINER_HOME": str(tmp_path)}
        with subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT) as program:
            heard = speaker.read(8.0)
            answer = subprocess.Popen(
                ["paplay", "--raw", "--rate=16000", "--channels=1", "--format=s16le", "--device=speaker"],
                env=pulse.env,
                stdin=subprocess.PIPE,
            )
            answer.communicate(said.tobytes())
            output, _ = program.communicate(timeout=30)
    assert program.returncode == 0, output
    prompt = voice.render("gear down", Casting.of(voice).style("instructor"))
    assert best_fit(prompt, heard)[1] > 0.9
    (line,) = (tmp_path / "corpus" / "manifest.jsonl").read_text().splitlines()
    kept = np.pad(read_wav(tmp_path / "corpus" / json.loads(line)["file"]), 16_000)
    assert best_fit(said, kept)[1] > 0.9
    assert best_fit(prompt, kept)[1] < 0.5
