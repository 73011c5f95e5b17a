"""How sure a share is: 95 % bounds by a bootstrap that draws whole voices, since one voice errs alike.

With few voices such bounds are too narrow rather than too wide: thirteen voices are few.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

RESAMPLES = 2000


@dataclass(frozen=True)
class Counted:
    """`hits` of `of` things that a voice said in one sentence; a sentence that was heard twice is counted twice."""

    voice: str
    sentence: str
    hits: int
    of: int = 1


def bounds(counted: Sequence[Counted], seed: int = 0) -> tuple[float, float]:
    """95 % bounds of the share of hits, in per cent: voices are drawn, each with all that it said.

    With one voice only, its sentences are drawn. Where nothing was hit, the upper bound is 3 in n, n being what voices
    said of sentences, however often each was heard (rule of three; it takes sentences for independent); and the lower
    one alike where all was.
    """
    by_sentence = len({each.voice for each in counted}) < 2
    clusters: dict[str, list[int]] = {}
    for each in counted:
        cluster = clusters.setdefault(each.sentence if by_sentence else each.voice, [0, 0])
        cluster[0] += each.hits
        cluster[1] += each.of
    hits, totals = np.array([clusters[name] for name in sorted(clusters)]).T
    sentences = len({(each.voice, each.sentence) for each in counted})
    if hits.sum() == 0:
        return 0.0, min(100.0, 300 / sentences)
    if hits.sum() == totals.sum():
        return max(0.0, 100 - 300 / sentences), 100.0
    drawn = np.random.default_rng(seed).integers(0, len(hits), (RESAMPLES, len(hits)))
    shares = 100 * hits[drawn].sum(axis=1) / totals[drawn].sum(axis=1)
    low, high = np.percentile(shares, (2.5, 97.5))
    return float(low), float(high)


def share(counted: Sequence[Counted], seed: int = 0) -> str:
    """'86.6 % [81.0-91.2] 430/497': the share that was hit, with its bounds."""
    if not counted:
        return "none"
    hits, total = sum(each.hits for each in counted), sum(each.of for each in counted)
    low, high = bounds(counted, seed)
    return f"{100 * hits / total:.1f} % [{low:.1f}-{high:.1f}] {hits}/{total}"
