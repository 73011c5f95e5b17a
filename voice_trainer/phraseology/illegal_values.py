"""Numbers that are no value of their type: 'heading four five zero', 'at eight one five', 'turn to one thousand'.

Who listens for legal values only hears an illegal one as the legal one that is nearest: a time without its first digit
becomes a time. So all numbers that people say stand beside the legal values, as rivals that mean nothing.
"""

from __future__ import annotations

from functools import cache

from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word, words_of
from voice_trainer.phraseology.numerals import DIGITS, TEENS, TENS

NUMBER_WORDS = frozenset({*DIGITS, *TEENS, *TENS, "hundred", "thousand", "point", "and"})

MOST_DIGITS = 7
"""The longest legal numbers have six: 'one one eight point three zero zero'."""

MANY_DIGITS = 6
"""A language in which so many digits can be said is one of numbers."""


@cache
def with_illegal_values(language: Node) -> Node:
    """The legal values of a slot, and, if they are numbers, any number or none at all, with the type's other words."""
    words = frozenset(words_of(language))
    if len(words & set(DIGITS)) < MANY_DIGITS or not _can_be_figures_alone(language):
        return language
    others = sorted(words - NUMBER_WORDS)
    number: tuple[Node, ...] = (_any_number(),)
    if others:
        number = (*number, Maybe(_one_of(others)))
    return Choice((language, Maybe(Sequence(number))))


def _can_be_figures_alone(node: Node) -> bool:
    """Whether some value is all numbers: a callsign has its name, and a number alone is no callsign said wrong."""
    match node:
        case Word(text):
            return text in NUMBER_WORDS
        case Sequence(parts):
            return all(_can_be_figures_alone(part) for part in parts)
        case Choice(options):
            return any(_can_be_figures_alone(option) for option in options)
        case Maybe():
            return True
        case Slot(name):
            raise ValueError(f"slot '{name}' has not been expanded into words")


@cache
def _any_number() -> Node:
    """Digits with or without a point, tens, hundreds and thousands, as people say them."""
    digit = _one_of(DIGITS)
    tens = Choice((_one_of(TEENS), Sequence((_one_of(TENS), Maybe(digit)))))
    some = Choice((digit, tens))
    hundreds = Sequence((some, Word("hundred"), Maybe(tens)))
    return Choice(
        (
            Sequence((_up_to(MOST_DIGITS, digit), Maybe(Sequence((Word("point"), _up_to(3, digit)))))),
            Sequence((Maybe(some), tens)),
            hundreds,
            Sequence((Maybe(digit), some, Word("thousand"), Maybe(hundreds))),
        )
    )


def _one_of(words: tuple[str, ...] | list[str]) -> Node:
    return Choice(tuple(Word(word) for word in words))


def _up_to(count: int, part: Node) -> Node:
    several = part
    for _ in range(count - 1):
        several = Sequence((part, Maybe(several)))
    return several
