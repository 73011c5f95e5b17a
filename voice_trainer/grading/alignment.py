"""What was expected over what was said, word by word.

The minimum number of edits, as word error rates are counted (NIST SCTK, doc/sclite.htm; jiwer). It shows a
student where the wording differs; it never decides whether a value is right.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rapidfuzz.distance import Levenshtein


@dataclass(frozen=True, slots=True)
class Pair:
    """An expected word over a said one; None where there is none."""

    expected: str | None
    said: str | None


@dataclass(frozen=True, slots=True)
class Alignment:
    """Every word of both sides, and the counts of hits, substitutions, deletions and insertions."""

    pairs: tuple[Pair, ...]

    @property
    def hits(self) -> int:
        """Words that are the same on both sides."""
        return sum(p.expected == p.said for p in self.pairs)

    @property
    def substitutions(self) -> int:
        """Words said in place of others."""
        return sum(p.expected != p.said and None not in (p.expected, p.said) for p in self.pairs)

    @property
    def deletions(self) -> int:
        """Expected words that were not said."""
        return sum(p.said is None for p in self.pairs)

    @property
    def insertions(self) -> int:
        """Words said that were not expected."""
        return sum(p.expected is None for p in self.pairs)

    @property
    def errors(self) -> int:
        """Substitutions, deletions and insertions together."""
        return len(self.pairs) - self.hits

    @property
    def word_error_rate(self) -> float:
        """Errors over the number of expected words; 0 where nothing was expected and nothing said."""
        expected = len(self.pairs) - self.insertions
        return self.errors / expected if expected else float(self.errors > 0)


def align(expected: Sequence[str], said: Sequence[str]) -> Alignment:
    """The alignment of two word sequences with the fewest edits."""
    pairs: list[Pair] = []
    for step in Levenshtein.opcodes(list(expected), list(said)):
        left = expected[step.src_start : step.src_end]
        right = said[step.dest_start : step.dest_end]
        if step.tag in ("equal", "replace"):
            pairs.extend(Pair(a, b) for a, b in zip(left, right, strict=True))
        else:
            pairs.extend(Pair(word, None) for word in left)
            pairs.extend(Pair(None, word) for word in right)
    return Alignment(tuple(pairs))
