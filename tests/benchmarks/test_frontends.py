"""Front ends as functions of sound, and what a paired comparison says of them."""

import numpy as np
import pytest

from scripts.benchmarks import frontends
from scripts.benchmarks.conditions import RATE, band

NOISE = np.random.default_rng(7)


def _speechlike(peak: float) -> frontends.Samples:
    """Two seconds of broad noise that swells four times a second."""
    seconds = np.arange(2 * RATE) / RATE
    sound = band(NOISE.standard_normal(len(seconds)), 120, 5000) * np.sin(4 * np.pi * seconds) ** 2
    return np.asarray(np.rint(sound * peak * 32767 / np.abs(sound).max()), np.int16)


@pytest.mark.parametrize("peak", [0.01, 0.9])
def test_levelled_to_a_peak_whatever_it_was(peak: float):
    assert np.abs(frontends.to_peak(_speechlike(peak))).max() == pytest.approx(16384, abs=2)


def test_a_click_does_not_make_the_rest_quiet():
    plain = _speechlike(0.05)
    clicked = plain.copy()
    clicked[100] = 32000
    quiet, loud = (
        np.sqrt(np.mean(f(clicked)[200:].astype(float) ** 2)) for f in (frontends.to_peak, frontends.to_level)
    )
    assert loud > 5 * quiet


def test_rumble_goes_and_a_voice_stays():
    seconds = np.arange(RATE) / RATE
    for hertz, least, most in ((40, 0.0, 0.05), (180, 0.95, 1.01), (2000, 0.99, 1.01)):
        tone = np.asarray(8000 * np.sin(2 * np.pi * hertz * seconds), np.int16)
        kept = np.std(frontends.without_rumble(tone)) / np.std(tone)
        assert least <= kept <= most


def test_the_equaliser_undoes_half_of_a_colour_in_decibels():
    plain = _speechlike(0.2)
    reference = frontends.band_decibels(plain / 32768)
    spectrum = np.fft.rfft(plain.astype(float))
    hertz = np.fft.rfftfreq(len(plain), 1 / RATE)
    tilted = np.fft.irfft(spectrum * 10 ** (-6 * np.log2(np.maximum(hertz, 100) / 100) / 40), len(plain))
    before = frontends.band_decibels(tilted / 32768) - reference
    after = (
        frontends.band_decibels(frontends.equaliser(reference)(np.asarray(np.rint(tilted), np.int16)) / 32768)
        - reference
    )
    assert np.std(after) == pytest.approx(np.std(before) / 2, rel=0.2)


def _heard(front_end: str, file: str, *, right: bool, clarity: str = "clear") -> frontends.Record:
    return {
        "condition": "clean", "file": file, "front_end": front_end, "half": "tuning", "right": right,
        "clarity": clarity, "milliseconds": 20.0, "seconds": 2.0,
    }  # fmt: skip


def test_a_table_counts_what_changed_each_way_over_what_both_heard():
    records = [
        _heard("none", "a", right=True), _heard("none", "b", right=False), _heard("none", "c", right=True),
        _heard("peak", "a", right=False), _heard("peak", "b", right=True, clarity="unclear"),
    ]  # fmt: skip
    cells = [cell.strip() for cell in frontends.report(records).splitlines()[-1].strip("|").split("|")]
    assert cells == ["peak", "1 (+1 -1)", "1/2 (+1 -1, p 1.00)", "0/2 (+0 -1, p 1.00)", "1", "10"]


def test_the_sign_test_against_its_definition():
    # Two-sided binomial, one half: 2 * (1 + 8) / 2**8 and 2 * 1 / 2**6.
    assert frontends.sign_test(7, 1) == pytest.approx(0.0703125)
    assert frontends.sign_test(0, 6) == pytest.approx(0.03125)
    assert frontends.sign_test(3, 3) == 1.0
