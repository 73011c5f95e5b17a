"""Words that sound like a value and are none: 'heading four five zero', 'at eight one five', 'turn to one thousand'.

Who listens for legal values only hears an illegal one as the legal one that is nearest: a time without its first digit
becomes a time. So number words in any order stand beside the legal values, as rivals that mean nothing.
"""

from __future__ import annotations

from functools import cache

from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Word, words_of
from voice_trainer.phraseology.numerals import DIGITS, TEENS, TENS

NUMBER_WORDS = (*DIGITS, *TEENS, *TENS, "hundred", "thousand", "point")

MOST_WORDS = 8
"""The longest legal numbers have seven: 'one one eight point three zero zero'."""

MANY_DIGITS = 6
"""A language in which so many digits can be said is one of numbers."""


@cache
def with_illegal_values(language: Node) -> Node:
    """The legal values of a slot, and, if they are numbers, any few number words beside them, or none at all."""
    words = frozenset(words_of(language))
    if len(words & set(DIGITS)) < MANY_DIGITS:
        return language
    any_word = Choice(tuple(Word(word) for word in sorted(words | set(NUMBER_WORDS))))
    several: Node = any_word
    for _ in range(MOST_WORDS - 1):
        several = Sequence((any_word, Maybe(several)))
    return Choice((language, Maybe(several)))
