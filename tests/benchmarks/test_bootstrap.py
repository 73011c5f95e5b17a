"""Bounds of a share: held against an obvious count, drawn and enumerated, and against known cases."""

import itertools
import random

import numpy as np
import pytest

from scripts.benchmarks.bootstrap import RESAMPLES, Counted, bounds, share


def _said(voices: int, sentences: int, conditions: int, seed: int) -> list[Counted]:
    """Voices of which each has its own share of hits, and says its own number of sentences."""
    chance = random.Random(seed)
    found = []
    for voice in range(voices):
        right = chance.random()
        for sentence in range(chance.randint(1, sentences)):
            found += [
                Counted(
                    f"v{voice:02}", f"{voice}/{sentence}", sum(chance.random() < right for _ in range(4)), 4
                )
                for _ in range(conditions)
            ]
    return found


def _slowly(counted: list[Counted], seed: int) -> tuple[float, float]:
    """The same draws, each of them counted one by one."""
    voices = sorted({each.voice for each in counted})
    shares = []
    for draw in np.random.default_rng(seed).integers(0, len(voices), (RESAMPLES, len(voices))):
        hits = total = 0
        for at in draw:
            for each in counted:
                if each.voice == voices[at]:
                    hits += each.hits
                    total += each.of
        shares.append(100 * hits / total)
    shares.sort()
    low, high = (_percentile(shares, part) for part in (0.025, 0.975))
    return low, high


def _percentile(ordered: list[float], part: float) -> float:
    at = part * (len(ordered) - 1)
    below = int(at)
    return ordered[below] + (at - below) * (ordered[min(below + 1, len(ordered) - 1)] - ordered[below])


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_bounds_are_those_of_a_slow_count(seed: int):
    counted = _said(7, 3, 2, seed)
    assert bounds(counted, seed) == pytest.approx(_slowly(counted, seed))


def test_bounds_are_about_those_of_all_draws_there_are():
    counted = _said(5, 4, 1, 8)
    by_voice = [
        (sum(each.hits for each in group), sum(each.of for each in group))
        for _, found in itertools.groupby(counted, lambda each: each.voice)
        for group in [list(found)]
    ]
    every = sorted(
        100 * sum(hits for hits, _ in drawn) / sum(total for _, total in drawn)
        for drawn in itertools.product(by_voice, repeat=5)
    )
    exact = [_percentile(every, part) for part in (0.025, 0.975)]
    assert exact[1] - exact[0] > 20
    for seed in range(3):
        assert bounds(counted, seed) == pytest.approx(exact, abs=4)


def test_two_voices_that_never_agree_say_nothing():
    counted = [Counted(voice, f"{voice}{at}", int(voice == "a")) for voice in "ab" for at in range(50)]
    assert bounds(counted) == (0.0, 100.0)


def test_voices_are_drawn_and_not_sentences():
    apart = [Counted(f"v{at % 10}", str(at), int(at % 10 < 5)) for at in range(1000)]
    assert np.ptp(bounds(apart)) > 40
    even = [Counted(f"v{at % 10}", str(at), int(at // 10 % 2)) for at in range(1000)]
    assert np.ptp(bounds(even)) == 0


def test_one_voice_has_its_sentences_drawn():
    counted = [Counted("only", str(at), int(at % 2)) for at in range(200)]
    low, high = bounds(counted)
    # 1.96 standard errors of a half in 200.
    assert (low, high) == (pytest.approx(50 - 6.9, abs=1), pytest.approx(50 + 6.9, abs=1))


def test_hearing_a_sentence_in_more_conditions_does_not_make_nothing_surer():
    once = [Counted(f"v{at % 13}", str(at), 0) for at in range(39)]
    assert bounds(once) == bounds(once * 7) == (0.0, 300 / 39)
    never_wrong = [Counted(each.voice, each.sentence, 4, 4) for each in once]
    assert bounds(never_wrong) == bounds(never_wrong * 7) == (100 - 300 / 39, 100.0)
    assert bounds(once[:1] * 7) == (0.0, 100.0)


def test_a_seed_gives_the_same_bounds():
    counted = _said(13, 4, 3, 5)
    assert bounds(counted, 1) == bounds(counted, 1) != bounds(counted, 2)


def test_a_share_is_told_with_its_bounds():
    counted = [Counted("a", "x", 3, 4), Counted("a", "y", 3, 4)]
    assert share(counted) == "75.0 % [75.0-75.0] 6/8"
    assert share([]) == "none"
