"""Sentences pooled by what they mean.

Ways to say a sentence that mean the same ('turn left heading …', 'left heading …') are not rivals: their probabilities
add up. Two meanings are the same when the grammar reads the same phrases with the same slot values.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass

import numpy as np

from voice_trainer.phraseology.grammar import Grammar, Piece
from voice_trainer.recognition.likelihood.writing import Words

_REMEMBERED = 4096


@dataclass(frozen=True, slots=True)
class Wording:
    """Words that may have been said and how likely, in nats. `legal`: they are a sentence of the domain; 'heading four
    five zero' and 'turn left heading' are none, but rivals.
    """

    words: Words
    log_likelihood: float
    legal: bool


@dataclass(frozen=True, slots=True)
class Meant:
    """One meaning: its likeliest words, how they are cut, and its pooled log-likelihood."""

    words: Words
    pieces: tuple[Piece, ...]
    log_likelihood: float
    legal: bool


class Reader:
    """`Grammar.read`, with the meaning as a key; remembers what it has read."""

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar
        self._known: dict[Words, tuple[tuple[Piece, ...], Hashable]] = {}

    def read(self, words: Words) -> tuple[tuple[Piece, ...], Hashable]:
        """How `words` are cut, and a key that is equal where the meaning is."""
        known = self._known.get(words)
        if known is None:
            cuts = self._grammar.read(words)
            pieces = cuts[0] if cuts else ()
            known = (pieces, _once(tuple(_key(piece, words) for piece in pieces)))
            if len(self._known) > _REMEMBERED:
                self._known.clear()
            self._known[words] = known
        return known


def _key(piece: Piece, words: Words) -> Hashable:
    if not piece.meanings:
        return words[piece.first : piece.last_exclusive]
    return frozenset((each.phrase, tuple(sorted(each.slots.items()))) for each in piece.meanings)


def _once(keys: tuple[Hashable, ...]) -> tuple[Hashable, ...]:
    """Without immediate repetitions: a call said twice means what it means once."""
    return tuple(key for at, key in enumerate(keys) if at == 0 or keys[at - 1] != key)


def pooled(wordings: Iterable[Wording], reader: Reader) -> list[Meant]:
    """What the wordings mean, likeliest first; whole sentences and beginnings are never the same."""
    by_key: dict[Hashable, dict[Words, Wording]] = {}
    for wording in wordings:
        alike = by_key.setdefault((wording.legal, reader.read(wording.words)[1]), {})
        known = alike.get(wording.words)
        if known is None or wording.log_likelihood > known.log_likelihood:
            alike[wording.words] = wording
    found: list[Meant] = []
    for alike in by_key.values():
        best = max(alike.values(), key=lambda each: (each.log_likelihood, each.words))
        together = float(np.logaddexp.reduce([each.log_likelihood for each in alike.values()]))
        found.append(Meant(best.words, reader.read(best.words)[0], together, best.legal))
    return sorted(found, key=lambda meant: (-meant.log_likelihood, meant.words))
