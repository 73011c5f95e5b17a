"""From words as they are said to what is written of them, and to what a voice is given.

What is written are the words that the grammar of a drill is made of (`phraseology/normaliser.py`): lower case, digits
as words, 'nine' whether somebody said nine or niner, 'vor' for three letters, no hesitation. So each word has one
writing.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from functools import cache

from scripts.train.texts.lines import Line
from voice_trainer.phraseology.normaliser import PHRASES, normalise_words
from voice_trainer.phraseology.numerals import DIGITS
from voice_trainer.phraseology.speaking import SPELLED

Words = tuple[str, ...]

HESITATIONS = ("uh", "um", "er", "erm")
"""Only ever said: nothing is written of them."""

AS_IN_ENGLISH = frozenset({"tree", "oh", "o", "fife", "fower", "ah"})
"""Words that the normaliser reads as digits or leaves out, and that a sentence about no flight writes as they are."""

DIGITS_AS_SAID = {"three": "tree", "four": "fower", "five": "fife"}
"""How ICAO Annex 10 Volume II 5.2.1.4.3.1 has them; few people say so."""

_ALOUD = {**{word: letters.lower() for word, letters in SPELLED.items()}, "xray": "x ray"}


def plain(words: Iterable[str]) -> Words:
    """What is written of words of the trade."""
    words = tuple(words)
    if all(map(_stays, words)):
        return words
    return tuple(word for word, _ in normalise_words(words))


@cache
def _stays(word: str) -> bool:
    """Whether a word is written as it is, whatever stands beside it: nearly all are, and the normaliser is slow."""
    return (
        word not in _PARTS_OF_WORDS and word not in HESITATIONS and normalise_words((word,)) == ((word, 0),)
    )


_PARTS_OF_WORDS = frozenset(part for parts in PHRASES for part in parts)


def plain_english(words: Sequence[str]) -> Words:
    """What is written of everyday words: as `plain`, but a tree stays a tree."""
    found: list[str] = []
    begun = 0
    for at, word in enumerate((*words, "oh")):
        if word in AS_IN_ENGLISH:
            found += plain(words[begun:at])
            found += words[at : at + 1]
            begun = at + 1
    return tuple(found)


def aloud(words: Iterable[str]) -> str:
    """Words as a voice is given them: what is an abbreviation, letter by letter."""
    return " ".join(_ALOUD.get(word, word) for word in words)


def said(words: Sequence[str], kind: str, chance: random.Random) -> Line:
    """A line of the trade: its digits as this or that person says them."""
    return Line(aloud(with_peoples_digits(words, chance)), " ".join(plain(words)), kind)


def everyday(words: Sequence[str], kind: str) -> Line:
    """A line of everyday words."""
    return Line(" ".join(words), " ".join(plain_english(words)), kind)


def with_peoples_digits(words: Sequence[str], chance: random.Random) -> Words:
    """Half of all people say 'nine'; some say 'oh' beside digits, and very few 'fife'."""
    nine = chance.choice(("nine", "niner"))
    as_printed = chance.random() < 0.02
    oh = chance.random() < 0.08
    found: list[str] = []
    for at, word in enumerate(words):
        if word in ("nine", "niner"):
            found.append(nine)
        elif as_printed and word in DIGITS_AS_SAID:
            found.append(DIGITS_AS_SAID[word])
        elif oh and word == "zero" and ({*words[max(0, at - 1) : at], *words[at + 1 : at + 2]} & set(DIGITS)):
            found.append("oh")
        else:
            found.append(word)
    return tuple(found)
