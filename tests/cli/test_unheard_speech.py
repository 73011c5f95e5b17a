"""A recording that speaks into cues: half-duplex loses it, and says so; a headset's session does not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.audio.wav import write_wav
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

DRILL = """\
drill: talkative
title: A long cue
kind: radio
trains: patience
steps:
  - step: one
    when: start
    cue:
      speaker: instructor
      say: "This cue is long enough that somebody who does not wait speaks right into the middle of it, all the time."
    flow:
      calls:
        - call: gear
          say: "gear down"
          window: {within_seconds: 4}
"""


@pytest.mark.slow
def test_what_falls_into_a_cue_is_said_at_the_end(tmp_path: Path) -> None:
    (tmp_path / "talkative.yaml").write_text(DRILL)
    spoken = Pyttsx3Voice().render("turn left heading two eight four", VoiceStyle("gmw/en-us"))
    write_wav(
        tmp_path / "said.wav",
        np.concatenate([np.zeros(16_000, np.int16), spoken, np.zeros(160_000, np.int16)]),
    )
    run = (
        "run", tmp_path / "talkative.yaml", "--input", tmp_path / "said.wav", "--output=none",
        "--engine=pocketsphinx",
    )  # fmt: skip
    deaf = voice_trainer(*run, home=tmp_path)
    assert (deaf.returncode, deaf.stderr) == (0, "")
    (line,) = [line for line in deaf.stdout.splitlines() if "fell into the trainer's cues" in line]
    seconds = float(line.split()[0])
    assert seconds == pytest.approx(len(spoken) / 16_000, abs=0.6)
    assert "with --headset it always does" in line
    hearing = voice_trainer(*run, "--headset", home=tmp_path)
    assert hearing.returncode == 0
    assert "fell into" not in hearing.stdout
