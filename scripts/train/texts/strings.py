"""Digits, letters and single words, with nothing around them."""

from __future__ import annotations

import random
from functools import cache

from scripts.train.texts.handwritten import around_digits, equipment
from scripts.train.texts.walks import value_of
from scripts.train.texts.wording import Words
from voice_trainer.phraseology.codes import ALPHABET
from voice_trainer.phraseology.numerals import DIGITS, TEENS, TENS, cardinal_words
from voice_trainer.phraseology.opposites import FAMILIES, NAMED_SETS
from voice_trainer.phraseology.slots import slot_type, slot_type_names


@cache
def short_phrases() -> tuple[str, ...]:
    """Bare words, and a few of two or three: said alone they are the hardest, since nothing else says what they are."""
    opposites = (word for family in FAMILIES for row in family for word in row)
    of_checklists = (*equipment("states"), *equipment("phrases"))
    known = (*DIGITS, *TEENS, *TENS, *ALPHABET, *opposites, *NAMED_SETS["facility"], *of_checklists)
    return tuple(dict.fromkeys((*known, *around_digits("short"))))


def short(chance: random.Random) -> Words:
    """One bare word, or two or three."""
    return tuple(chance.choice(short_phrases()).split())


def string(chance: random.Random) -> Words:
    """A value of some slot type alone, or digits and letters of no type."""
    return chance.choices(
        (_digits, _among_words, _letters, _mixed, _value, _repeated, _counted, _callsign),
        (10, 8, 4, 3, 6, 2, 2, 2),
    )[0](chance)


WEIGHTS = (3, 2, 4, 4, 6, 6, 6, 7, 7, 7)
"""Of the digits in strings of no type: those that values have less often are said more often here."""


def _digit(chance: random.Random) -> str:
    return chance.choices(DIGITS, WEIGHTS)[0]


def _digits(chance: random.Random) -> Words:
    digits = tuple(_digit(chance) for _ in range(chance.choice((2, 3, 3, 3, 4, 4, 5, 6, 7))))
    if len(digits) > 3 and chance.random() < 0.4:
        at = chance.randint(1, len(digits) - 1)
        return (*digits[:at], chance.choice(("point", "decimal")), *digits[at:])
    return digits


def _among_words(chance: random.Random) -> Words:
    digits = tuple(chance.choice(DIGITS) for _ in range(chance.choice((1, 1, 2, 3, 4))))
    before = (chance.choice(around_digits("before")),) if chance.random() < 0.75 else ()
    behind = (chance.choice(around_digits("behind")),) if chance.random() < 0.6 or not before else ()
    return (*before, *digits, *behind)


def _letters(chance: random.Random) -> Words:
    return tuple(chance.choice(ALPHABET) for _ in range(chance.randint(2, 5)))


def _mixed(chance: random.Random) -> Words:
    return tuple(
        chance.choice((chance.choice(ALPHABET), _digit(chance))) for _ in range(chance.randint(2, 6))
    )


def _value(chance: random.Random) -> Words:
    open_ones = [name for name in slot_type_names() if slot_type(name).form is not None]
    return value_of(chance.choice(open_ones), chance, "any" if chance.random() < 0.3 else "legal")


def _repeated(chance: random.Random) -> Words:
    """Two digits in turn: 'one one', 'three three three two'."""
    one, other = _digit(chance), _digit(chance)
    return tuple(chance.choice((one, one, other)) for _ in range(chance.randint(2, 6)))


def _counted(chance: random.Random) -> Words:
    return cardinal_words(chance.randint(1, 999))


def _callsign(chance: random.Random) -> Words:
    return value_of(
        chance.choice(("callsign heron", "callsign finch", "callsign november+", "callsign golf+")), chance
    )
