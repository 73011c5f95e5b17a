"""Lines for what stands in too few: words of the library, frequent words, and digits beside certain words."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise, product

from scripts.train.texts.english import English
from scripts.train.texts.handwritten import around_digits, equipment, words_by_hand
from scripts.train.texts.held_out import HeldOut, fits
from scripts.train.texts.lines import LINES, Line
from scripts.train.texts.named import with_word
from scripts.train.texts.unseen import words_of_the_library
from scripts.train.texts.wording import Words, aloud, plain_english, said
from voice_trainer.phraseology.numerals import DIGITS

LIBRARY_OFTEN, FREQUENT_OFTEN, THING_OFTEN, NEIGHBOURS_OFTEN = 40, 6, 4, 12
"""In how many of `LINES` each stands at least: a word of the library, of frequent English, a thing, two neighbours."""

FREQUENT = 14_000
MOST_SHARE = 0.09
"""Of all lines, as many at most are made for words that are not of the library."""


def missing_words(
    lines: Sequence[Line], english: English, held: HeldOut, seed: str, count: int, days: int
) -> list[Line]:
    """Lines for words that stand in too few: all of the library's, then frequent ones and things, as the share lets."""
    chance = random.Random(seed)
    known = {(line.spoken, line.written) for line in lines}
    counts = Counter(word for line in lines for word in set(line.written.split()))
    frequent = tuple(word for word in english.frequent[:FREQUENT] if is_word(word, held))
    of_library = words_of_the_library(days)
    often = dict.fromkeys((*english.things, *equipment("things"), *words_by_hand()), THING_OFTEN)
    often |= dict.fromkeys(frequent, FREQUENT_OFTEN)
    often |= dict.fromkeys(of_library, max(2, LIBRARY_OFTEN * count // LINES))
    found: dict[Line, None] = {}
    for word in sorted(often, key=lambda each: (each not in of_library, -often[each], each)):
        if word not in of_library and len(found) >= count * MOST_SHARE:
            break
        if word in of_library or is_word(word, held):
            for line in _about(word, often[word] - counts[word], frequent, held, chance):
                if (line.spoken, line.written) not in known:
                    found.setdefault(line)
    return list(found)


def _about(
    word: str, wanted: int, frequent: tuple[str, ...], held: HeldOut, chance: random.Random
) -> Iterator[Line]:
    for _ in range(max(0, wanted) * 3):
        if wanted <= 0:
            return
        line = said(with_word(word, frequent, chance), "words", chance)
        if fits(line, held) and word in line.written.split():
            wanted -= 1
            yield line


def is_word(word: str, held: HeldOut) -> bool:
    """Whether a word of a list can be said and written as it stands there."""
    can_be_said = (len(word) > 2 and any(letter in "aeiouy" for letter in word)) or word in _TWO_LETTERS
    as_it_is = plain_english((word,)) == (word,) and aloud((word,)) == word
    return can_be_said and as_it_is and word not in held.words


_TWO_LETTERS = frozenset(
    {
        "a", "i", "am", "an", "as", "at", "be", "by", "do", "go", "he", "if", "in", "is", "it", "me", "my", "no", "of",
        "on", "or", "so", "to", "up", "us", "we",
    }
)  # fmt: skip


def missing_neighbours(lines: Sequence[Line], held: HeldOut, seed: str, count: int) -> list[Line]:
    """Lines in which each digit stands behind each word that may stand before digits, and before each behind them."""
    chance = random.Random(seed)
    pairs = Counter(pair for line in lines for pair in pairwise(line.written.split()))
    wanted: list[Words] = [
        *product(around_digits("before"), DIGITS),
        *product(DIGITS, around_digits("behind")),
    ]
    known = {line.written for line in lines}
    found: list[Line] = []
    for first, second in wanted:
        missing = max(1, NEIGHBOURS_OFTEN * count // LINES) - pairs[first, second]
        for _ in range(max(0, missing) * 6):
            more = tuple(chance.choice(DIGITS) for _ in range(chance.choice((0, 1, 2, 3))))
            words = (first, second, *more) if second in DIGITS else (*more, first, second)
            line = said(words, "string", chance)
            if missing > 0 and line.written not in known and fits(line, held):
                known.add(line.written)
                found.append(line)
                missing -= 1
    return found
