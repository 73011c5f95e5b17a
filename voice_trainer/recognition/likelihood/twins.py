"""Close rivals of the best sentence that the search may have dropped: one word changed, added, left out, or two
neighbours swapped.

The margin must never be too wide because a rival fell out of the beam. Every such twin that the automaton
accepts is looked at; those whose first differing token was nearly as likely as the best sentence's are scored
in one batch together with it, written in the same style.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from voice_trainer.phraseology.word_automaton import WordAutomaton
from voice_trainer.recognition.likelihood.given import Manner, Tokens, likelihoods, respelled
from voice_trainer.recognition.likelihood.model import Floats, SpeechModel, Start
from voice_trainer.recognition.likelihood.writing import Place, Spelling, Words, Writing

NEAR_NATS = 8.0
"""A twin whose first differing token is so much less likely is no rival."""

MOST_LEFT_OUT = 2
"""So many words at the end of the best sentence may not have been said yet."""

MOST_TWINS = 8
MOST_WRITTEN = 20
"""So many of the nearest, by the first token that differs, are written out; of these the nearest are scored."""


@dataclass(frozen=True, slots=True)
class Twin:
    """A rival: its words, its tokens, and its log-likelihood less that of the best sentence."""

    words: Words
    tokens: Tokens
    difference: float


@dataclass(frozen=True, slots=True)
class _Written:
    """The best sentence by words: how each is written, and where: its first token, and the place before it."""

    manners: tuple[Manner, ...]
    at: tuple[int, ...]
    places: tuple[Place, ...]


def rivals(
    model: SpeechModel,
    writing: Writing,
    automaton: WordAutomaton,
    start: Start,
    tokens: Tokens,
    words: Words,
    scores: list[Floats],
    but_not: WordAutomaton | None = None,
) -> list[Twin]:
    """The near twins of the sentence `words`, written as `tokens`, likeliest first differing token first.

    `scores` are the log-probabilities over the alphabet at each of its tokens. What `but_not` accepts is left out.
    """
    written = _taken_apart(writing, tokens, words)
    if written is None:
        return []

    def loss_at(at: int, word: str) -> float:
        """How much less likely `word` there at least is than the word of the best sentence."""
        token_at = written.at[at]
        mine = scores[token_at][tokens[token_at]]
        ways = writing.spellings(written.places[at]).get(word, ())
        return min((float(mine - scores[token_at][way.tokens[0]]) for way in ways), default=math.inf)

    nearest: dict[Words, tuple[float, tuple[Manner, ...]]] = {}
    for loss, twin, manners in _twins(automaton, words, written.manners, loss_at):
        known = nearest.get(twin)
        if twin != words and (known is None or loss < known[0]):
            nearest[twin] = loss, manners
    near: dict[Words, tuple[float, Tokens]] = {}
    looked_at = 0
    for twin, (_, manners) in sorted(nearest.items(), key=lambda item: (item[1][0], item[0])):
        if but_not is not None and but_not.accepts(twin):
            continue
        looked_at += 1
        if looked_at > MOST_WRITTEN:
            break
        theirs = respelled(writing, twin, manners)
        if theirs is not None:
            loss = _first_loss(tokens, theirs, scores)
            if loss < NEAR_NATS:
                near[twin] = (loss, theirs)
    if not near:
        return []
    chosen = sorted(near.items(), key=lambda item: (item[1][0], item[0]))[:MOST_TWINS]
    totals = likelihoods(model, writing, start, [tokens, *(theirs for _, (_, theirs) in chosen)])
    return [Twin(twin, each, totals[at + 1] - totals[0]) for at, (twin, (_, each)) in enumerate(chosen)]


def beginnings(
    model: SpeechModel, writing: Writing, start: Start, tokens: Tokens, words: Words
) -> list[Twin]:
    """What the sentence `words`, written as `tokens`, is without its last words: sentences or not.

    A search that knows whole sentences only completes what was said as far as 'ignition' with whatever comes cheapest.
    """
    written = _taken_apart(writing, tokens, words)
    if written is None:
        return []
    begun: dict[Words, list[Tokens]] = {}
    for count in range(max(1, len(words) - MOST_LEFT_OUT), len(words)):
        head = tokens[: written.at[count]]
        if head and written.at[count] > written.at[count - 1]:
            begun[words[:count]] = [head] if head[-1] == writing.stop else [head, (*head, writing.stop)]
    ways = [way for each in begun.values() for way in each]
    if not ways:
        return []
    whole, *totals = likelihoods(model, writing, start, [tokens, *ways])
    found: list[Twin] = []
    for head_words, heads in begun.items():
        mine, totals = totals[: len(heads)], totals[len(heads) :]
        found.append(Twin(head_words, heads[0], float(np.logaddexp.reduce(mine)) - whole))
    return found


def _twins(
    automaton: WordAutomaton,
    words: Words,
    manners: tuple[Manner, ...],
    loss_at: Callable[[int, str], float],
) -> Iterator[tuple[float, Words, tuple[Manner, ...]]]:
    """Every twin that is a sentence and whose first word that differs may be near: its loss, the twin, its manners.

    The loss is asked for first: most of a large automaton need not be looked at then.
    """

    def ends(state: int | None, rest: Words) -> bool:
        last = automaton.walk(state, rest) if state is not None else None
        return last is not None and automaton.complete(last)

    state = automaton.start
    for at, word in enumerate(words):
        head, rest = words[:at], words[at + 1 :]
        for other, target in automaton.following(state).items():
            if other != word and (loss := loss_at(at, other)) < NEAR_NATS:
                if ends(target, rest):
                    yield loss, (*head, other, *rest), manners
                if ends(target, words[at:]):
                    plain = Manner((), manners[at].style)
                    yield loss, (*head, other, *words[at:]), (*manners[: at + 1], plain, *manners[at + 1 :])
        if rest and rest[0] != word and (loss := loss_at(at, rest[0])) < NEAR_NATS:
            if ends(state, rest):
                yield loss, (*head, *rest), (*manners[:at], *manners[at + 1 :])
            swapped = (rest[0], word, *rest[1:])
            if ends(state, swapped):
                yield loss, (*head, *swapped), manners
        state = automaton.following(state)[word]


def _taken_apart(writing: Writing, tokens: Tokens, words: Words) -> _Written | None:
    """The best sentence word by word; None only if `tokens` don't write `words`."""

    def walk(place: Place, at: int, said: int) -> list[tuple[Spelling, int, Place]] | None:
        if at == len(tokens):
            return [] if said == len(words) and place.may_end else None
        following = words[said] if said < len(words) else ""
        for key in dict.fromkeys((following, "")):
            for spelling in writing.spellings(place).get(key, ()):
                size = len(spelling.tokens)
                if (
                    tokens[at : at + size] == spelling.tokens
                    and words[said : said + len(spelling.words)] == spelling.words
                ):
                    rest = walk(spelling.place, at + size, said + len(spelling.words))
                    if rest is not None:
                        return [(spelling, at, place), *rest]
        return None

    steps = walk(writing.start, 0, 0)
    if steps is None:
        return None
    manners: list[Manner] = []
    places: list[Place] = []
    starts: list[int] = []
    marks: list[Tokens] = []
    for spelling, at, place in steps:
        if not spelling.words:
            marks.append(spelling.tokens)
            continue
        for _ in spelling.words:
            manners.append(Manner(tuple(marks), writing.style(spelling.tokens), spelling.tokens))
            places.append(place)
            starts.append(at)
            marks = []
    last = Manner(tuple(marks), (False, False, False))
    return _Written((*manners, last), tuple(starts), tuple(places))


def _first_loss(tokens: Tokens, other: Tokens, scores: list[Floats]) -> float:
    """How much less likely the first differing token is than that of the best sentence."""
    for at, (mine, theirs) in enumerate(zip(tokens, other, strict=False)):
        if mine != theirs:
            return float(scores[at][mine] - scores[at][theirs])
    return 0.0
