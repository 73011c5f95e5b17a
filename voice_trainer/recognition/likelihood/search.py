"""The likeliest sentences of the domain: a beam search over the token automaton.

Likelihoods of sequences favour short sentences, so every token of a word earns a bonus while searching;
afterwards sentences are judged without it. One more row of the same batch writes freely, with no domain, the
likeliest token each time: the measure of how well the domain explains the sound.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voice_trainer.recognition.likelihood.model import BEGIN, END, Floats, Past, Sound, SpeechModel, log_normalisers
from voice_trainer.recognition.likelihood.writing import Place, Words, Writing

BEAM = 12
BONUS_NATS = 2.0
TOKENS_PER_SECOND = 9.0
FIRST_TOKENS = 12
SPELLINGS_KEPT = 3
BEHIND_NATS = 16.0
PATIENCE_NATS = 8.0


class Reading(NamedTuple):
    """One way to understand the tokens so far: the words, and where the writer is."""

    words: Words
    place: Place


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
    length: int

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
    """A whole sentence: one way of writing it, understood in one or more ways."""

    path: Path
    readings: tuple[Words, ...]
    log_likelihood: float
    score: float


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
    first: Past
    sound: Sound


def search(
    model: SpeechModel, writing: Writing, samples: Floats, beam: int = BEAM, bonus: float = BONUS_NATS
) -> Found:
    """The likeliest sentences given mono samples at 16 kHz."""
    sound, past, logits = model.listen(samples)
    first = past
    limit = int(FIRST_TOKENS + TOKENS_PER_SECOND * len(samples) / 16_000)
    rewards = np.where(writing.unrewarded, 0.0, bonus).astype(np.float64)
    live = [Path(None, BEGIN, 0, 0.0, 0.0, (Reading((), writing.start),), 0)]
    sentences: list[Sentence] = []
    best_score = -np.inf
    trace: list[Floats] = []
    free_tokens: list[int] = []
    free = 0.0
    free_row = 0
    for _ in range(limit):
        normalisers = log_normalisers(logits)
        scores: Floats = logits[:, writing.alphabet] - normalisers[:, None]
        trace.append(scores)
        ends = logits[:, END] - normalisers
        for path in live:
            whole = tuple(dict.fromkeys(r.words for r in path.readings if r.place.may_end))
            if whole:
                total = path.log_likelihood + float(ends[path.row])
                score = path.score + float(ends[path.row])
                sentences.append(Sentence(path, whole, total, score))
                best_score = max(best_score, score)
        free_next: int | None = None
        if free_row >= 0:
            token = int(logits[free_row].argmax())
            free += float(logits[free_row, token] - normalisers[free_row])
            if token != END:
                free_tokens.append(token)
                free_next = token
        live = _extend(live, scores, rewards, writing, beam)
        if live and live[0].score < best_score - PATIENCE_NATS:
            live = []
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
        past, stepped = model.step(sound, past.rows(chosen), np.array(ids, dtype=np.int64)[:, None])
        logits = stepped[:, -1]
    return Found(tuple(sentences), tuple(trace), tuple(free_tokens), free, first, sound)


def _extend(
    live: list[Path], scores: Floats, rewards: NDArray[np.float64], writing: Writing, beam: int
) -> list[Path]:
    """The best paths that are one token longer; their `row` is still that of the path before them."""
    values: list[NDArray[np.float64]] = []
    origins: list[tuple[Path, NDArray[np.int64]]] = []
    for path in live:
        if len(path.readings) == 1:
            tokens = writing.open(path.readings[0].place)
        else:
            tokens = np.unique(np.concatenate([writing.open(reading.place) for reading in path.readings]))
        if not len(tokens):
            continue
        values.append(path.score + scores[path.row, tokens] + rewards[tokens])
        origins.append((path, tokens))
    if not values:
        return []
    every = np.concatenate(values)
    offsets = np.cumsum([0] + [len(value) for value in values])
    wanted = min(len(every), 4 * beam)
    top = np.argpartition(-every, wanted - 1)[:wanted]
    top = top[np.lexsort((top, -every[top]))]
    longer: list[Path] = []
    spellings: dict[Words, int] = {}
    floor = float(every[top[0]]) - BEHIND_NATS
    for index in top:
        score = float(every[index])
        if score < floor or len(longer) == beam:
            break
        origin = int(np.searchsorted(offsets, index, side="right")) - 1
        path, tokens = origins[origin]
        token = int(tokens[index - offsets[origin]])
        readings = tuple(
            dict.fromkeys(
                Reading(reading.words + words, place)
                for reading in path.readings
                for words, place in reading.place.on(token)
            )
        )
        key = readings[0].words
        kept = spellings.get(key, 0)
        if kept >= SPELLINGS_KEPT and readings[0].place.may_end:
            continue
        spellings[key] = kept + 1
        gained = float(scores[path.row, token])
        longer.append(
            Path(path, token, path.row, path.log_likelihood + gained, score, readings, path.length + 1)
        )
    return longer
