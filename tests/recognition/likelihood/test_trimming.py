"""The stretch of speech in an utterance."""

from __future__ import annotations

import numpy as np
import pytest

from voice_trainer.recognition.likelihood.trimming import trim


def test_an_utterance_of_loud_and_soft_frames_is_cut_to_its_speech() -> None:
    quiet = np.random.default_rng(3).standard_normal(48_000).astype(np.float32) * np.float32(0.001)
    loud = quiet.copy()
    loud[16_000:32_000] += np.sin(np.arange(16_000) / 5).astype(np.float32) * np.float32(0.3)
    found = trim(loud)
    assert found is not None
    assert found.first == pytest.approx(16_000, abs=3_200)
    assert found.first + len(found.samples) == pytest.approx(32_000, abs=4_800)
    assert found.speech_seconds == pytest.approx(1.0, abs=0.05)
