from __future__ import annotations

import numpy as np
import pytest

from tests.recognition.sounds import noise, silence, spoken
from voice_trainer.recognition.denoising import denoised, dynamic_range_decibels


def mixed() -> tuple[np.ndarray, np.ndarray]:
    """Speech, and the same speech in noise about 10 dB below it."""
    clean = np.concatenate([silence(0.5), spoken("turn left heading two eight four"), silence(0.5)])
    return clean, clean + noise(len(clean) / 16_000, seed=7)[: len(clean)] // 3


def test_speech_in_quiet_is_left_as_it_is():
    clean, _ = mixed()
    assert denoised(clean) is clean


def test_noise_between_the_words_falls_and_the_words_stay():
    clean, noisy = mixed()
    better = denoised(noisy)
    assert better.shape == noisy.shape
    assert better.dtype == np.int16
    pause = slice(1000, 7000)
    assert np.std(better[pause]) < 0.6 * np.std(noisy[pause])
    words = slice(14_000, 30_000)
    assert np.corrcoef(better[words], clean[words])[0, 1] > 0.9
    assert np.abs(better - clean.astype(float)).mean() < np.abs(noisy - clean.astype(float)).mean()


@pytest.mark.parametrize("count", [0, 1, 511, 512, 600])
def test_any_length_comes_back_as_long_as_it_was(count):
    sound = noise(1.0)[:count]
    assert denoised(sound).shape == (count,)


def test_steady_noise_has_little_range_and_speech_has_much():
    clean, noisy = mixed()
    assert dynamic_range_decibels(noise(2.0)) < 6
    assert 9 < dynamic_range_decibels(noisy) < 25
    assert dynamic_range_decibels(clean) > 45
