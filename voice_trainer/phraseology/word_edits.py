"""Two wordings over each other, word by word: which words are the same, and which stand in each other's place.

Digits stand over digits: of two values that are said in the same form each word is held against the one in its own
place, so that 'two nine four eight' over 'two nine eight four' differs in its last two words, and a swapped pair is
never shown as a word left out here and added there. It shows where two wordings differ; it never decides whether a
value is right.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

from rapidfuzz.distance import Levenshtein

from voice_trainer.phraseology.codes import ALPHABET
from voice_trainer.phraseology.numerals import DIGITS, TEENS, TENS

MISTAKEN = 100
"""What it costs to hold a digit against another one: costs are whole numbers, so that equal ones are equal."""

LONE = 160
"""What a word costs that has none on the other side: more than one that is mistaken for another."""

UNLIKE = 250
"""What it costs to hold words of different kinds against each other, a digit against 'thousand'."""

INFLECTED = 5
"""What another number of the same noun costs: it is no mistake, 'two minutes' over 'one minute'."""

Kind = Literal["digit", "group", "letter", "scale", "word"]

_KINDS: dict[str, Kind] = {
    **dict.fromkeys(ALPHABET, "letter"),
    **dict.fromkeys(("hundred", "thousand", "point", "decimal", "plus"), "scale"),
    **dict.fromkeys(TEENS + TENS, "group"),
    **dict.fromkeys(DIGITS, "digit"),
}


@dataclass(frozen=True, slots=True)
class WordEdit:
    """An expected word over a said one, None where there is none; `marked` where they differ in what they mean.

    What is said beside the call, and no mistake, is a word without an expected one that is not marked.
    """

    expected: str | None
    said: str | None
    marked: bool


def same_words(words: Sequence[str]) -> tuple[WordEdit, ...]:
    """`words` over themselves."""
    return tuple(WordEdit(word, word, marked=False) for word in words)


def left_out(words: Sequence[str]) -> tuple[WordEdit, ...]:
    """`words` that were expected and not said."""
    return tuple(WordEdit(word, None, marked=True) for word in words)


@cache
def cost_of(expected: str, said: str) -> int:
    """What it costs to hold one word against another; nothing for the same."""
    if expected == said:
        return 0
    kind = _kind(expected)
    if kind != _kind(said):
        return UNLIKE
    if kind != "word":
        return MISTAKEN
    # Among words 'climbing' is nearer to 'descending' than to 'descend'.
    unlike = UNLIKE + round(30 * Levenshtein.normalized_distance(expected, said))
    return INFLECTED if inflected(expected, said) else unlike


def inflected(one: str, other: str) -> bool:
    """Whether two words are one noun in two numbers: 'minute' and 'minutes'."""
    return one != other and one.removesuffix("s") == other.removesuffix("s")


def cost_over(expected: Sequence[str], said: Sequence[str]) -> int:
    """What it costs to hold one wording against another."""
    return _costs(expected, said)[-1][-1]


def word_edits(expected: Sequence[str], said: Sequence[str]) -> tuple[WordEdit, ...]:
    """One wording over the other: place by place where both have the same form, else with the fewest differences."""
    if [_kind(word) for word in expected] == [_kind(word) for word in said]:
        return tuple(_held_against(one, other) for one, other in zip(expected, said, strict=True))
    costs = _costs(expected, said)
    edits: list[WordEdit] = []
    i, j = len(expected), len(said)
    while i or j:
        # Of ways that cost the same, the lone words come last: 'two eight' and then 'gusting three zero'.
        out = bool(i) and costs[i][j] == costs[i - 1][j] + LONE
        more = bool(j) and costs[i][j] == costs[i][j - 1] + LONE
        if out and more:  # the same way whichever wording was expected
            out = expected[i - 1] > said[j - 1]
        if out:
            i -= 1
            edits.append(WordEdit(expected[i], None, marked=True))
        elif more:
            j -= 1
            edits.append(WordEdit(None, said[j], marked=True))
        else:
            i, j = i - 1, j - 1
            edits.append(_held_against(expected[i], said[j]))
    return tuple(reversed(edits))


def _kind(word: str) -> Kind:
    return _KINDS.get(word, "word")


def _held_against(expected: str, said: str) -> WordEdit:
    return WordEdit(expected, said, marked=expected != said and not inflected(expected, said))


def _costs(expected: Sequence[str], said: Sequence[str]) -> list[list[int]]:
    """The cost of every beginning of the one over every beginning of the other."""
    costs = [[LONE * j for j in range(len(said) + 1)]]
    for one in expected:
        above = costs[-1]
        row = [above[0] + LONE]
        for j, other in enumerate(said):
            row.append(min(above[j] + cost_of(one, other), above[j + 1] + LONE, row[j] + LONE))
        costs.append(row)
    return costs
