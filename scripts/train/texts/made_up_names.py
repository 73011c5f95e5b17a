"""Names that nobody has heard before: fixes, towns, callsigns, as a user of the program makes them up.

They are built of syllables that can be said in English, in the spellings that such names have: Kelda, Brannock, Yarrow,
Dunmar, Tando. One sound has several spellings on purpose: a recogniser that can write each of them is sure of none, and
so leaves it to the drill, which has the name.
"""

from __future__ import annotations

import random

_BEGINNINGS = (
    "b", "br", "bl", "c", "cr", "d", "dr", "f", "fl", "g", "gl", "gr", "h", "j", "k", "l", "l", "m", "m", "n", "n", "p",
    "pr", "r", "r", "s", "sh", "sk", "st", "t", "t", "th", "tr", "v", "w", "wh", "y", "z", "",
)  # fmt: skip
_VOWELS = (
    "a", "a", "a", "e", "e", "e", "i", "i", "o", "o", "o", "u", "u", "ar", "er", "or", "ai", "ee", "oo", "ow", "ay",
)  # fmt: skip
_MIDDLES = (
    "b", "ck", "d", "dd", "g", "k", "l", "ll", "lm", "ld", "lt", "m", "mb", "mp", "n", "nn", "nd", "nt", "nk", "p",
    "pp", "r", "rr", "s", "ss", "sk", "st", "sh", "t", "tt", "v", "z", "ndr", "lv",
)  # fmt: skip
_ENDINGS = (
    "a", "o", "ow", "ock", "ick", "en", "an", "on", "in", "ar", "er", "or", "el", "ell", "et", "is", "us", "ax", "ex",
    "im", "um", "ia", "een", "ane", "ine", "ole", "y", "ie",
)  # fmt: skip
_PLACES = (
    "ley", "ton", "ham", "by", "wick", "mere", "ford", "well", "worth", "field", "stead", "more", "dale", "port",
    "burn", "ridge", "nock", "mar", "den", "dor", "lin", "bo", "do", "ra", "na", "co",
)  # fmt: skip

FIVE_LETTERS_SHARE = 0.4
"""Names of fixes on charts have five letters."""

LEAST_LETTERS, MOST_LETTERS = 4, 9


def made_up_name(chance: random.Random) -> str:
    """One name of two syllables or three, lower case."""
    while True:
        name = chance.choice(_BEGINNINGS) + chance.choice(_VOWELS)
        if chance.random() < 0.15:
            name += chance.choice(_MIDDLES) + chance.choice("aeio")
        if chance.random() < 0.65:
            name += chance.choice(_MIDDLES) + chance.choice(_ENDINGS)
        else:
            # A place's ending stands behind one plain consonant, or behind the vowel.
            name += chance.choice(("", "l", "n", "r", "s", "m", "k")) + chance.choice(_PLACES)
        five = chance.random() < FIVE_LETTERS_SHARE
        if (len(name) == 5 or not five) and LEAST_LETTERS <= len(name) <= MOST_LETTERS and not _ugly(name):
            return name


def _ugly(name: str) -> bool:
    """Whether three letters of one kind stand in a row where nobody would write them so."""
    kinds = "".join("v" if letter in "aeiouwy" else "c" for letter in name)
    return "vvv" in kinds or "cccc" in kinds or any(letter * 3 in name for letter in set(name))


def made_up_names(count: int, seed: str, but_not: frozenset[str] = frozenset()) -> tuple[str, ...]:
    """`count` names of a seed, each once, none of which is in `but_not`."""
    chance = random.Random(seed)
    found: dict[str, None] = {}
    while len(found) < count:
        name = made_up_name(chance)
        if name not in but_not:
            found[name] = None
    return tuple(found)
