"""How many words of an utterance belong to no call, and how many would if some words were left out.

The best way to cut words into phrases is put together of the best ways to cut what stands before a place and behind it,
and a phrase is no longer than its pattern. So when words are left out only the phrases that might reach over the seam
are looked for anew; what it costs on either side is known. `Grammar.read` of all that remains would come to the same.
"""

from __future__ import annotations

from collections.abc import Sequence

from voice_trainer.phraseology.grammar import NOBODYS_WORD, Cost, Grammar, cost_of_phrase, sum_of


class LeftOver:
    """One utterance, its words normalised."""

    def __init__(self, words: Sequence[str], grammar: Grammar) -> None:
        self._words = tuple(words)
        self._grammar = grammar
        self._ends: dict[tuple[str, ...], dict[int, bool]] = {}
        count = len(self._words)
        found = [self._phrases(self._words, at) for at in range(count)]
        self._before: list[Cost] = [(at, 0, 0) for at in range(count + 1)]
        """The least cost of the words before each place."""
        for at in range(count):
            here = self._before[at]
            self._before[at + 1] = min(self._before[at + 1], sum_of(here, NOBODYS_WORD))
            for length, is_call in found[at].items():
                end = at + length
                self._before[end] = min(
                    self._before[end], sum_of(here, cost_of_phrase(length, is_call=is_call))
                )
        self._behind: list[Cost] = [(0, 0, 0)] * (count + 1)
        """The least cost of the words from each place on."""
        for at in range(count - 1, -1, -1):
            self._behind[at] = self._least(found[at], at, self._behind)
        self._first_to_reach = list(range(count + 1))
        """For each place, the first word at which a phrase might begin that reaches beyond it."""
        for at in range(count - 1, -1, -1):
            for beyond in range(at + 1, min(count, at + grammar.most_words_from(self._words[at]) - 1) + 1):
                self._first_to_reach[beyond] = at

    def count(self) -> int:
        """The words that belong to no call."""
        return _of_no_call(self._behind[0])

    def count_without(self, first: int, end: int) -> int:
        """The words that would belong to no call if those from `first` to before `end` had not been said."""
        start = self._first_to_reach[first]
        words = self._words[start:first] + self._words[end:]
        behind = [*self._behind[start:first], *self._behind[end:]]
        for at in range(first - start - 1, -1, -1):
            behind[at] = self._least(self._phrases(words, at), at, behind)
        return _of_no_call(
            min(sum_of(self._before[start + at], behind[at]) for at in range(first - start + 1))
        )

    def _least(self, phrases: dict[int, bool], at: int, behind: list[Cost]) -> Cost:
        least = sum_of(NOBODYS_WORD, behind[at + 1])
        for length, is_call in phrases.items():
            least = min(least, sum_of(cost_of_phrase(length, is_call=is_call), behind[at + length]))
        return least

    def _phrases(self, words: tuple[str, ...], at: int) -> dict[int, bool]:
        """How long the phrases are that begin at a word, and whether there is a call among those of a length."""
        within = words[at : at + self._grammar.most_words_from(words[at])]
        known = self._ends.get(within)
        if known is None:
            known = self._ends[within] = self._grammar.phrases_at_the_beginning(within)
        return known


def _of_no_call(cost: Cost) -> int:
    return cost[0] + cost[1]
