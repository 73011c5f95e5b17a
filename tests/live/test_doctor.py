"""The doctor on a machine with devices: names, levels, and the delay where one hears the other."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from tests.cli.commands import voice_trainer
from tests.pulse import PrivatePulse

pytestmark = [pytest.mark.live, pytest.mark.slow]


def test_devices_levels_and_the_delay_of_a_loopback(tmp_path: Path) -> None:
    with PrivatePulse() as pulse:
        hum = (300 * np.sin(np.arange(16_000 * 180) * 0.05)).astype(np.int16)
        pulse.say(hum)
        looped = voice_trainer(
            "doctor",
            "--microphone=speaker_loopback",
            "--speaker=trainer_speaker",
            home=tmp_path,
            env=pulse.env,
        )
        apart = voice_trainer(
            "doctor",
            "--microphone=trainer_microphone",
            "--speaker=trainer_speaker",
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
