"""The likeliest sentences of the domain: a beam search over the token automaton.

Likelihoods of sequences favour short sentences, so every token of a word earns a bonus while searching;
afterwards sentences are judged by `Fit`, which gives much less. One more row of the same batch writes freely,
with no domain, the likeliest token each time: the measure of how well the domain explains the sound.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voice_trainer.recognition.likelihood.fit import TOKEN_NATS, Fit
from voice_trainer.recognition.likelihood.model import (
    BEGIN,
    END,
    Floats,
    SpeechModel,
    Start,
    log_normalisers,
)
from voice_trainer.recognition.likelihood.writing import Place, Words, Writing

EARLY_TOKENS = 2
EARLY_BEHIND_NATS = 18.0
"""The first word is the least certain ('Did not heat on' for 'pitot heat on'): at first more is kept."""


class Width(NamedTuple):
    """How many paths are followed at once: for the first tokens, and later."""

    early: int
    later: int


USUAL = Width(20, 10)
WIDE = Width(48, 28)
"""For when the usual width finds nothing that explains the sound."""

BONUS_NATS = 2.0
TOKENS_PER_SECOND = 9.0
FIRST_TOKENS = 12
SPELLINGS_KEPT = 2
"""How many ways to write the same words are followed at once."""

PLACE_KEPT = 4
"""How many paths that may go on in the same way are followed at once: without this, the digits of one slot, each a
little less likely than the other, push every other call out of the beam."""


READINGS_KEPT = 12
"""How many ways to understand the same tokens are followed: '324' alone is a heading, a squawk, 'thirty two four', and
where phrases repeat there are as many as there are ways to cut them."""


UNFINISHED_NATS = 6.0
"""How much less likely it is that somebody stops in the middle of a sentence."""

LEAST_UNFINISHED_WORDS = 2


class Softened(NamedTuple):
    """While searching, what a token costs beyond `from_nats` counts for so much of it only."""

    from_nats: float
    slope: float


FIRST_PIECE = Softened(-5.0, 0.5)
LATER_PIECE = Softened(-4.0, 0.3)
"""For the first piece of a word and the others: one or two pieces of a made-up name ('Kel-da', 'Bran-no-ck') are
very unlikely to the model, and must not throw out the right sentence before its other words are heard."""

BEHIND_NATS = 12.0
"""A path so far behind the best of its length is given up."""

PATIENCE_NATS = 3.0
"""The search ends when no path can come nearer than this to the best sentence."""

HOPE_TOKENS = 3


class Reading(NamedTuple):
    """One way to understand the tokens so far: the words, and where the writer is."""

    words: Words
    place: Place
    cost: float


@dataclass(slots=True, eq=False)
class Path:
    """A sentence, so far: its last token, what came before, and its plain and rewarded log-likelihoods."""

    before: Path | None
    token: int
    row: int
    """The row of the batch that read `token`, thus where the scores of the next token are."""
    log_likelihood: float
    score: float
    readings: tuple[Reading, ...]
    rewarded: int
    """How many of its tokens are parts of words."""

    def tokens(self) -> tuple[int, ...]:
        """All tokens after the begin token, by the alphabet in use."""
        found: list[int] = []
        path: Path | None = self
        while path is not None and path.before is not None:
            found.append(path.token)
            path = path.before
        return tuple(reversed(found))

    def chain(self) -> list[Path]:
        """The path of each length, from the empty one to this."""
        found: list[Path] = []
        path: Path | None = self
        while path is not None:
            found.append(path)
            path = path.before
        return found[::-1]


@dataclass(frozen=True, slots=True)
class Sentence:
    """A whole sentence, or the beginning of one: one way of writing it, understood in one or more ways."""

    path: Path
    readings: tuple[tuple[Words, float], ...]
    """Each way to read it: the words, and their cost."""
    log_likelihood: float
    value: float
    """What sentences are compared by: the log-likelihood and `Fit.of`."""
    whole: bool = True


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found.

    `scores[t]` are the log-probabilities, over the alphabet, of the token after `t` tokens, one row for each
    path of that length.
    """

    sentences: tuple[Sentence, ...]
    scores: tuple[Floats, ...]
    free_tokens: tuple[int, ...]
    free_log_likelihood: float
    free_ended: bool
    """Whether free speech came to an end of its own: in hum and babble it goes round and round."""
    start: Start


def search(
    model: SpeechModel,
    writing: Writing,
    start: Start,
    fit: Fit,
    width: Width = USUAL,
    known_value: float = -np.inf,
) -> Found:
    """The likeliest sentences of an utterance that was listened to, judged by `fit`.

    Paths that can't come near a sentence of `known_value` are not followed.
    """
    past, logits = start.past, start.logits
    limit = int(FIRST_TOKENS + TOKENS_PER_SECOND * start.seconds)
    rewards = np.where(writing.unrewarded, 0.0, BONUS_NATS).astype(np.float64)
    live = [Path(None, BEGIN, 0, 0.0, 0.0, (Reading((), writing.start, 0.0),), 0)]
    sentences: list[Sentence] = []
    best = known_value
    trace: list[Floats] = []
    free_tokens: list[int] = []
    free = 0.0
    free_row = 0
    free_ended = False
    for _ in range(limit):
        normalisers = log_normalisers(logits)
        scores: Floats = logits[:, writing.alphabet] - normalisers[:, None]
        trace.append(scores)
        ends = logits[:, END] - normalisers
        for path in live:
            sentence = _ended(path, float(ends[path.row]), fit)
            if sentence is not None:
                sentences.append(sentence)
                best = max(best, sentence.value) if sentence.whole else best
        free_next: int | None = None
        if free_row >= 0:
            token = int(logits[free_row].argmax())
            free += float(logits[free_row, token] - normalisers[free_row])
            free_ended = token == END
            if not free_ended:
                free_tokens.append(token)
                free_next = token
        early = len(trace) <= EARLY_TOKENS
        live = _extend(live, scores, rewards, writing, width.early if early else width.later, early)
        hope = TOKEN_NATS * HOPE_TOKENS + PATIENCE_NATS
        live = [path for path in live if path.log_likelihood + TOKEN_NATS * path.rewarded + hope > best]
        if not live and free_next is None:
            break
        rows = [path.row for path in live]
        ids = [int(writing.alphabet[path.token]) for path in live]
        for at, path in enumerate(live):
            path.row = at
        if free_next is not None:
            rows.append(free_row)
            ids.append(free_next)
            free_row = len(ids) - 1
        else:
            free_row = -1
        chosen = np.array(rows, dtype=np.int64)
        past, stepped = model.step(start.sound, past.rows(chosen), np.array(ids, dtype=np.int64)[:, None])
        logits = stepped[:, -1]
    return Found(tuple(sentences), tuple(trace), tuple(free_tokens), free, free_ended, start)


def _ended(path: Path, end: float, fit: Fit) -> Sentence | None:
    """The sentence that a path is, or the beginning of one; `end` is the log-probability that nothing follows."""
    whole = {reading.words: reading.cost for reading in path.readings if reading.place.may_end}
    found = whole or {
        reading.words: reading.cost + UNFINISHED_NATS
        for reading in path.readings
        if reading.place.unfinished and len(reading.words) >= LEAST_UNFINISHED_WORDS
    }
    if not found:
        return None
    total = path.log_likelihood + end
    value = total + max(fit.of(words, path.rewarded, cost) for words, cost in found.items())
    return Sentence(path, tuple(found.items()), total, value, whole=bool(whole))


def _extend(
    live: list[Path], scores: Floats, rewards: NDArray[np.float64], writing: Writing, beam: int, early: bool
) -> list[Path]:
    """The best paths that are one token longer; their `row` is still that of the path before them."""
    values: list[NDArray[np.float64]] = []
    origins: list[tuple[Path, NDArray[np.int64]]] = []
    for path in live:
        tokens = writing.open(path.readings[0].place)
        costs = path.readings[0].place.costs
        if len(path.readings) > 1:
            tokens, where = np.unique(
                np.concatenate([writing.open(reading.place) for reading in path.readings]),
                return_inverse=True,
            )
            every_cost = np.concatenate([reading.place.costs for reading in path.readings])
            costs = np.full(len(tokens), np.inf)
            np.minimum.at(costs, where, every_cost)
        if not len(tokens):
            continue
        gained = scores[path.row, tokens]
        soft = FIRST_PIECE if path.readings[0].place.between else LATER_PIECE
        gained = np.maximum(gained, soft.from_nats + soft.slope * (gained - soft.from_nats))
        values.append(path.score + gained + rewards[tokens] - costs)
        origins.append((path, tokens))
    if not values:
        return []
    every = np.concatenate(values)
    offsets = np.cumsum([0] + [len(value) for value in values])
    wanted = min(len(every), 8 * beam)
    top = np.argpartition(-every, wanted - 1)[:wanted]
    top = top[np.lexsort((top, -every[top]))]
    longer: list[Path] = []
    spellings: dict[Words, int] = {}
    places: dict[int, int] = {}
    floor = float(every[top[0]]) - (EARLY_BEHIND_NATS if early else BEHIND_NATS)
    for index in top:
        score = float(every[index])
        if score < floor or len(longer) == beam:
            break
        origin = int(np.searchsorted(offsets, index, side="right")) - 1
        path, tokens = origins[origin]
        token = int(tokens[index - offsets[origin]])
        readings = tuple(
            dict.fromkeys(
                Reading(reading.words + words, place, reading.cost + cost)
                for reading in path.readings
                for words, place, cost in reading.place.on(token)
            )
        )
        if len(readings) > READINGS_KEPT:
            readings = tuple(sorted(readings, key=lambda each: (each.cost, each.words))[:READINGS_KEPT])
        key = readings[0].words
        kept = spellings.get(key, 0)
        place = readings[0].place
        if place.between:
            alike = places.get(id(place), 0)
            if kept >= SPELLINGS_KEPT or alike >= PLACE_KEPT:
                continue
            spellings[key] = kept + 1
            places[id(place)] = alike + 1
        plain = path.log_likelihood + float(scores[path.row, token])
        rewarded = path.rewarded + int(not writing.unrewarded[token])
        longer.append(Path(path, token, path.row, plain, score, readings, rewarded))
    return longer
