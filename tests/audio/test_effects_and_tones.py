"""The radio, levels and tones, measured with numpy's Fourier transform."""

import numpy as np
import pytest

from voice_trainer.audio.effects import level_dbfs, normalise, radio
from voice_trainer.audio.ports import SAMPLE_RATE_HZ
from voice_trainer.audio.tones import TONE_NAMES, tone


def sine(frequency_hz: float, amplitude: float = 0.5, seconds: float = 1.0) -> np.ndarray:
    times = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return np.rint(amplitude * 32767 * np.sin(2 * np.pi * frequency_hz * times)).astype(np.int16)


def power_at(samples: np.ndarray, frequency_hz: float) -> float:
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples)))) ** 2
    return float(spectrum[round(frequency_hz * len(samples) / SAMPLE_RATE_HZ)])


def test_a_full_scale_sine_is_0_dbfs():
    """AES17-2015, 3.12.1 (from memory): full scale is the RMS of a sine whose peaks reach full scale."""
    assert abs(level_dbfs(sine(997, 1.0))) < 0.01
    assert abs(level_dbfs(sine(997, 0.1)) + 20) < 0.01


def test_silence_and_nothing_have_no_level():
    assert level_dbfs(np.zeros(100, dtype=np.int16)) == level_dbfs(np.zeros(0, dtype=np.int16)) == -np.inf


def test_the_radio_passes_its_band_and_stops_what_is_outside():
    """300-3400 Hz, the voice channel of ITU-T G.712."""
    inside, outside = (500, 1000, 2000, 3200), (60, 120, 200, 4000, 6000)
    mixed = sum(sine(f, 0.05).astype(np.int32) for f in inside + outside).astype(np.int16)
    heard = radio(mixed)
    loss_db = {f: 10 * np.log10(power_at(mixed, f) / max(power_at(heard, f), 1e-9)) for f in inside + outside}
    reference = loss_db[1000]
    assert all(abs(loss_db[f] - reference) < 1 for f in inside)
    assert all(loss_db[f] - reference > 25 for f in outside)


def test_the_radio_brings_loud_and_soft_closer_together():
    loud_then_soft = np.concatenate([sine(1000, 0.5), sine(1000, 0.1)])
    heard = radio(loud_then_soft)
    before = level_dbfs(loud_then_soft[4000:12000]) - level_dbfs(loud_then_soft[20000:28000])
    after = level_dbfs(heard[4000:12000]) - level_dbfs(heard[20000:28000])
    assert before > 13 and 2 < after < 9


def test_the_radio_hisses_the_same_for_the_same_seed_and_keeps_the_length():
    clip = sine(700, 0.3, 0.7)
    assert len(radio(clip)) == len(clip)
    assert np.array_equal(radio(clip, seed=3), radio(clip, seed=3))
    assert not np.array_equal(radio(clip, seed=3), radio(clip, seed=4))
    hiss = radio(np.concatenate([clip, np.zeros(8000, dtype=np.int16)]))[-4000:]
    assert -60 < level_dbfs(hiss) < -40


@pytest.mark.parametrize("clip", [np.zeros(0, dtype=np.int16), np.zeros(1, dtype=np.int16), sine(500)[:7]])
def test_the_radio_takes_clips_of_any_length(clip):
    assert radio(clip).shape == clip.shape


def test_normalising_reaches_the_level_or_the_peak_whichever_comes_first():
    assert abs(level_dbfs(normalise(sine(500, 0.01), -20)) + 20) < 0.05
    click = sine(500, 0.05)
    click[8000] = 16000
    raised = normalise(click, -3, peak_dbfs=-1)
    assert abs(20 * np.log10(np.abs(raised.astype(int)).max() / 32768) + 1) < 0.05
    assert not normalise(np.zeros(10, dtype=np.int16)).any()


@pytest.mark.parametrize("name", TONE_NAMES)
def test_a_tone_is_short_soft_and_does_not_click(name):
    samples = tone(name)
    assert 0.08 * SAMPLE_RATE_HZ < len(samples) < 0.2 * SAMPLE_RATE_HZ
    assert -30 < level_dbfs(samples) < -12
    assert abs(int(samples[0])) < 50 and abs(int(samples[-1])) < 50


def test_the_tones_are_told_apart_by_their_pitch():
    def pitches(name) -> tuple[float, float]:
        halves = np.array_split(tone(name), 2)
        return tuple(
            float(np.argmax(np.abs(np.fft.rfft(half, 16_000))))
            for half in halves  # one bin is one hertz
        )

    first, second = pitches("listening")
    assert abs(first - second) < 20
    first, second = pitches("heard")
    assert second > first * 1.3
    first, second = pitches("say again")
    assert second < first * 0.85
