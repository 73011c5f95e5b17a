"""Calls as they are said: alone, several in a breath, corrected, with hesitations, or with one thing wrong."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import cycle

from scripts.train.texts.handwritten import own_words
from scripts.train.texts.held_out import HeldOut
from scripts.train.texts.library import Library
from scripts.train.texts.walks import Values, has_numbers, walk
from scripts.train.texts.wording import HESITATIONS, Words, plain
from voice_trainer.phraseology.codes import ALPHABET
from voice_trainer.phraseology.numerals import DIGITS, TEENS, TENS
from voice_trainer.phraseology.opposites import FAMILIES, NAMED_SETS
from voice_trainer.phraseology.pattern import Pattern

TRIES = 20
"""So often another wording is drawn where one is held out."""

JOINTS = ("and", "then", "and then", "also", "now", "okay", "uh", "um", "so", "next")
"""What people put between two calls."""

TAKEN_BACK = (
    "correction",
    "correction",
    "correction",
    "no",
    "sorry",
    "i mean",
    "no wait",
    "make that",
    "disregard",
)


@dataclass(frozen=True)
class Calls:
    """Draws what is said of a library; no call that is held out is ever drawn, alone or among others."""

    library: Library
    held: HeldOut

    def drawn(
        self, patterns: Sequence[Pattern], chance: random.Random, values: Values = "legal"
    ) -> tuple[Pattern, Words]:
        """A pattern and a way to say it."""
        for _ in range(TRIES):
            pattern = chance.choice(patterns)
            words = walk(pattern.node, chance, values)
            if words and not self.held.holds(plain(words)):
                return pattern, words
        raise ValueError(f"all of {patterns[0].text!r} and its like is held out")

    @cached_property
    def _with_numbers(self) -> tuple[Pattern, ...]:
        both = (*self.library.calls, *self.library.trade)
        return tuple(pattern for pattern in both if has_numbers(pattern.node))

    def call(self, chance: random.Random) -> Words:
        """One call of a drill, or a common sentence of the trade."""
        patterns = self.library.trade if chance.random() < 0.15 else self.library.calls
        return self.drawn(patterns, chance)[1]

    def every(self) -> Callable[[random.Random], Words]:
        """Draws calls of all patterns by turns; of a pattern whose every way is held out, one that is held out."""
        turns = cycle((*self.library.calls, *self.library.calls, *self.library.trade))

        def draw(chance: random.Random) -> Words:
            node = next(turns).node
            for _ in range(TRIES):
                words = walk(node, chance)
                if words and not self.held.holds(plain(words)):
                    break
            return words

        return draw

    def illegal(self, chance: random.Random) -> Words:
        """A call with numbers in it that may be no values."""
        return self.drawn(self._with_numbers, chance, "any")[1]

    def own_words(self, chance: random.Random) -> Words:
        """What a call says, in somebody's own words."""
        return self.drawn(own_words(), chance, "any" if chance.random() < 0.2 else "legal")[1]

    def order(self, chance: random.Random) -> Words:
        """An order to the trainer; behind some, the call that it is about."""
        order = self.drawn(self.library.orders, chance)[1]
        sort = chance.random()
        if sort < 0.5:
            return order
        if sort < 0.75:
            return (*order, *self.call(chance))
        return (*self.call(chance), *order)

    def breath(self, chance: random.Random) -> Words:
        """Two to four calls without a pause that ends anything."""
        words: Words = ()
        for at in range(chance.choices((2, 3, 4), (5, 3, 4))[0]):
            if at and chance.random() < 0.12:
                words += tuple(chance.choice(JOINTS).split())
            sort = chance.random()
            words += (
                self.call(chance)
                if sort < 0.9
                else self.own_words(chance)
                if sort < 0.95
                else self.illegal(chance)
            )
        return words

    def correction(self, chance: random.Random) -> Words:
        """What is taken back, and what is said instead: the whole call, or a part of it; now and then that alone."""
        pattern, words = self.drawn(self.library.calls, chance)
        again = self.drawn((pattern,), chance)[1]
        sort = chance.random()
        if sort < 0.25:
            return self.drawn(self.library.corrections, chance)[1]
        if sort < 0.4:
            return ("correction", *again)
        said = words if sort < 0.7 else words[: chance.randint(1, len(words))]
        part = walk(pattern.correction.node, chance)[1:] if chance.random() < 0.6 else again
        return (*said, *chance.choice(TAKEN_BACK).split(), *part)

    def disturbed(self, chance: random.Random) -> Words:
        """A call begun anew, broken off, said twice, or with hesitations in it."""
        words = self.breath(chance) if chance.random() < 0.15 else self.call(chance)
        sort = chance.random()
        if sort < 0.4:
            return hesitant(words, chance)
        if sort < 0.6:
            begun = words[: chance.randint(1, len(words))]
            return (*begun, *hesitant((), chance), *words)
        if sort < 0.75:
            at = chance.randrange(len(words))
            end = chance.randint(at + 1, min(len(words), at + 3))
            return (*words[:end], *words[at:])
        if sort < 0.92:
            begin = chance.choice((0, 0, chance.randrange(len(words))))
            return words[begin : chance.randint(begin + 1, len(words))]
        return (*words, *words)

    def twin(self, chance: random.Random) -> Words:
        """A call in which a digit or a word with an opposite is another, one is left out, or one is too many."""
        words = self.own_words(chance) if chance.random() < 0.2 else self.call(chance)
        edits = list(_edits(words, chance))
        return chance.choice(edits) if edits else words


def hesitant(words: Words, chance: random.Random) -> Words:
    """The words with one or two hesitations between them, before or behind them."""
    for _ in range(chance.choice((1, 1, 2))):
        at = chance.randint(0, len(words))
        words = (*words[:at], chance.choice(HESITATIONS), *words[at:])
    return words


@cache
def _rows() -> dict[str, tuple[str, ...]]:
    """Each word that others may be taken for, and these others."""
    rows: dict[str, tuple[str, ...]] = {}
    inflected = (tuple(dict.fromkeys(column)) for family in FAMILIES for column in zip(*family, strict=True))
    sets = (
        DIGITS, TEENS, TENS, ALPHABET, NAMED_SETS["facility"], *(row for family in FAMILIES for row in family),
        *(column for column in inflected if len(column) > 1), ("on", "one"), ("two", "to", "tune"), ("four", "for"),
        ("brake", "break"), ("start", "restart"), ("started", "restarted"), ("an", "and"), ("the", "a"),
    )  # fmt: skip
    for row in sets:
        for word in row:
            rows[word] = tuple(
                dict.fromkeys((*rows.get(word, ()), *(other for other in row if other != word)))
            )
    return rows


def _edits(words: Words, chance: random.Random) -> Iterator[Words]:
    rows = _rows()
    for at, word in enumerate("nine" if word == "niner" else word for word in words):
        before, after = words[:at], words[at + 1 :]
        if others := rows.get(word):
            yield (*before, chance.choice(others), *after)
        if word in DIGITS:
            yield (*before, chance.choice(DIGITS), *after)
            yield (*before, word, chance.choice(DIGITS), *after)
            if before or after:
                yield (*before, *after)
        if after and word in rows and after[0] in rows and word != after[0]:
            yield (*before, after[0], word, *after[1:])
