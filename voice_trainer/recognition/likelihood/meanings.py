"""Sentences pooled by what they mean.

Ways to write a sentence ('284', 'two eight four') and ways to say it ('niner', 'grouped digits') that mean the
same are not rivals: their probabilities add up. Two meanings are the same when the grammar reads the same
phrases with the same slot values.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass

import numpy as np

from voice_trainer.phraseology.grammar import Grammar, Piece
from voice_trainer.recognition.likelihood.fit import Fit
from voice_trainer.recognition.likelihood.search import Path, Sentence
from voice_trainer.recognition.likelihood.writing import Words

REPEAT_NATS = 4.0
"""What a phrase costs that only repeats the one before it: noise is easily covered so."""

CONSIDERED_NATS = 15.0
"""Sentences further behind the best are not read at all."""


@dataclass(frozen=True, slots=True)
class Meant:
    """One meaning: its likeliest words, how they are cut, and its pooled log-likelihood and value."""

    key: Hashable
    words: Words
    pieces: tuple[Piece, ...]
    log_likelihood: float
    value: float
    tokens: tuple[int, ...]
    """The likeliest way to write these words, by the alphabet in use."""
    path: Path | None = None
    """The path of the search that wrote them, where there is one."""
    legal: bool = True
    """Whether it is a sentence of the domain. 'Heading four five zero' and 'turn left heading' are none, but rivals."""


class Reader:
    """`Grammar.read`, with the meaning as a key; remembers what it has read."""

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar
        self._known: dict[Words, tuple[tuple[Piece, ...], tuple[Hashable, ...]]] = {}

    def repeats(self, words: Words) -> int:
        """How many phrases of `words` only repeat the one before them."""
        pieces, key = self.read(words)
        return len(pieces) - len(key)

    def read(self, words: Words) -> tuple[tuple[Piece, ...], tuple[Hashable, ...]]:
        """How `words` are cut, and a key that is equal where the meaning is."""
        known = self._known.get(words)
        if known is None:
            cuts = self._grammar.read(words)
            pieces = cuts[0] if cuts else ()
            known = (pieces, _once(tuple(_key(piece, words) for piece in pieces)))
            if len(self._known) > 4096:
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


def pooled(sentences: Iterable[Sentence], reader: Reader, fit: Fit) -> list[Meant]:
    """The meanings of whole sentences, best first."""
    every = list(sentences)
    if not every:
        return []
    least = max(sentence.value for sentence in every) - CONSIDERED_NATS
    by_words: dict[Words, list[tuple[float, Sentence]]] = {}
    for sentence in every:
        if sentence.value >= least:
            for words, cost in sentence.readings:
                value = sentence.log_likelihood + fit.of(words, sentence.path.rewarded, cost)
                value -= REPEAT_NATS * reader.repeats(words)
                by_words.setdefault(words, []).append((value, sentence))
    by_key: dict[Hashable, list[Words]] = {}
    for words in by_words:
        by_key.setdefault(reader.read(words)[1], []).append(words)
    found: list[Meant] = []
    for key, wordings in by_key.items():
        # A sentence written one way and read as two wordings of one meaning counts once.
        values: dict[int, float] = {}
        likelihoods: dict[int, float] = {}
        for words in wordings:
            for value, sentence in by_words[words]:
                values[id(sentence)] = max(value, values.get(id(sentence), -np.inf))
                likelihoods[id(sentence)] = sentence.log_likelihood
        best = max(wordings, key=lambda each: (_pool([value for value, _ in by_words[each]]), each))
        written = max(by_words[best], key=lambda each: each[0])[1]
        found.append(
            Meant(
                key,
                best,
                reader.read(best)[0],
                _pool(list(likelihoods.values())),
                _pool(list(values.values())),
                written.path.tokens(),
                written.path,
                legal=written.whole,
            )
        )
    return sorted(found, key=lambda meant: (-meant.value, meant.words))


def _pool(values: list[float]) -> float:
    return float(np.logaddexp.reduce(values))
