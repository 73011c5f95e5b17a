"""A voice that comes in well, and what may be wrong with it."""

from __future__ import annotations

import numpy as np
import pytest

from voice_trainer.audio.ports import Samples
from voice_trainer.session.level_check import Finding, level_of
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice


@pytest.fixture(scope="module")
def spoken() -> Samples:
    quiet = np.zeros(8000, np.int16)
    said = Pyttsx3Voice().render("radio check one two three", VoiceStyle("gmw/en-us"))
    return np.concatenate([quiet, said, quiet])


def in_a_room(clip: Samples, gain_db: float, noise_dbfs: float) -> Samples:
    noise = np.random.default_rng(5).normal(0.0, 32768 / np.sqrt(2) * 10 ** (noise_dbfs / 20), len(clip))
    return np.clip(clip * 10 ** (gain_db / 20) + noise, -32768, 32767).astype(np.int16)


@pytest.mark.parametrize(
    ("gain_db", "noise_dbfs", "finding"),
    [
        (0.0, -66.0, "good"),
        (-10.0, -66.0, "good"),
        (-40.0, -80.0, "too faint"),
        (18.0, -66.0, "clipped"),
        (0.0, -28.0, "too noisy"),
        (-18.0, -38.0, "too noisy"),
    ],
)
def test_what_is_found(spoken: Samples, gain_db: float, noise_dbfs: float, finding: Finding) -> None:
    level = level_of(in_a_room(spoken, gain_db, noise_dbfs))
    assert level.finding == finding, level


def test_nothing_is_nothing() -> None:
    assert level_of(np.zeros(100, np.int16)).finding == "nothing"
