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


def test_speech_from_the_first_sample_to_the_last_gets_quiet_around_it() -> None:
    """The model has learnt that a call has quiet before it, and writes nothing where it has none."""
    loud = (np.sin(np.arange(16_000) / 5) * 0.3).astype(np.float32)
    found = trim(loud)
    assert found is not None
    assert found.first < -1_600
    assert not found.samples[: -found.first].any()
    assert found.samples[-found.first :][: len(loud)].tolist() == loud.tolist()
    assert not found.samples[len(loud) - found.first :].any()
