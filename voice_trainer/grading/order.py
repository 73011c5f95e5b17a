"""Order by transpositions: which calls stand out of place, and how far an order is from the right one."""

from __future__ import annotations

from collections.abc import Sequence


def inversions(places: Sequence[int]) -> int:
    """How many pairs of `places` were said the wrong way round (Kendall's distance)."""
    return sum(a > b for i, a in enumerate(places) for b in places[i + 1 :])


def out_of_place(places: Sequence[int]) -> frozenset[int]:
    """The fewest calls that, left out, leave the others in order.

    `places` are the calls' places in the flow, in the order in which they were said, without repetitions.
    Where several answers are as short, the calls said first keep their place: of a swapped pair, the one that
    came after its time is the one out of order.
    """
    # longest[i]: the length of the longest increasing run of places that begins with the i-th call said
    longest = [1] * len(places)
    for i in range(len(places) - 1, -1, -1):
        longest[i] += max((longest[j] for j in range(i + 1, len(places)) if places[j] > places[i]), default=0)
    kept: list[int] = []
    for place, length in zip(places, longest, strict=True):
        if length == max(longest, default=0) - len(kept) and (not kept or place > kept[-1]):
            kept.append(place)
    return frozenset(places) - frozenset(kept)
