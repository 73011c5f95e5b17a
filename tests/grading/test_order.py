"""Order by transpositions, against exhaustive search."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.grading.order import inversions, out_of_place

places = st.lists(st.integers(0, 20), unique=True, max_size=8)


@given(places)
def test_the_fewest_are_out_of_place(said: list[int]) -> None:
    out = out_of_place(said)
    kept = [p for p in said if p not in out]
    assert kept == sorted(kept)
    longest = max(
        (len(c) for n in range(len(said) + 1) for c in combinations(said, n) if list(c) == sorted(c)),
        default=0,
    )
    assert len(kept) == longest


@given(places)
def test_inversions_are_the_swaps_of_neighbours_that_sorting_takes(said: list[int]) -> None:
    swaps, row = 0, list(said)
    for _ in row:
        for i in range(len(row) - 1):
            if row[i] > row[i + 1]:
                row[i], row[i + 1] = row[i + 1], row[i]
                swaps += 1
    assert inversions(said) == swaps


def test_of_a_swapped_pair_the_one_said_after_its_time_is_out_of_place() -> None:
    assert out_of_place([0, 2, 1, 3]) == {1}


def test_one_call_said_far_too_soon_is_alone_out_of_place() -> None:
    assert out_of_place([3, 0, 1, 2]) == {3}
