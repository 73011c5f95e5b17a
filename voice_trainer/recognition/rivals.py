"""What else might have been said: the sentences of a network that differ from one of them in one place.

A recogniser that finds the best sentence says nothing of how near the next one was. These are the near ones: a
digit changed, left out or put in, two words exchanged, an opposite flipped, another call of the same length.
None is invented: each is a sentence that the network has.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from voice_trainer.recognition.word_network import WordNetwork

Sentence = tuple[str, ...]

SHORT_WORDS = 3
"""Phrases up to this long are compared in any two words: they have no other word to be told apart by."""


def rivals_of(network: WordNetwork, sentence: Sequence[str]) -> list[Sentence]:
    """Every sentence of `network` that is one edit away from `sentence`, in a fixed order, each once.

    An edit takes up to two neighbouring words and puts up to two in their place (two for two in short phrases
    only), or exchanges any two words.
    """
    words = tuple(sentence)
    found: dict[Sentence, None] = {}
    for rival in _edits(network, words):
        if rival and rival != words:
            found.setdefault(rival)
    return list(found)


def _edits(network: WordNetwork, words: Sentence) -> Iterator[Sentence]:
    state: int | None = network.start
    for at in range(len(words) + 1):
        if state is None:
            return
        for removed in range(min(2, len(words) - at) + 1):
            after = words[at + removed :]
            most = 2 if removed < 2 or len(words) <= SHORT_WORDS else 1
            for put, reached in _reachable(network, state, most):
                if network.step(reached, after) in network.final:
                    yield (*words[:at], *put, *after)
        if at < len(words):
            state = network.step(state, words[at : at + 1])
    for first in range(len(words)):
        for second in range(first + 1, len(words)):
            swapped = list(words)
            swapped[first], swapped[second] = swapped[second], swapped[first]
            if network.accepts(swapped):
                yield tuple(swapped)


def _reachable(network: WordNetwork, state: int, most: int) -> Iterator[tuple[Sentence, int]]:
    """Every way to go on from `state` by at most `most` words, and the state that it leads to."""
    yield (), state
    if most == 0:
        return
    for word, reached in network.arcs[state].items():
        for more, end in _reachable(network, reached, most - 1):
            yield (word, *more), end
