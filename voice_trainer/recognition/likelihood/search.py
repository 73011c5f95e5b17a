"""What the model writes of an utterance: freely, and the likeliest sentences of the domain.

The model was trained to write just this, so its likelihoods are taken as they are: nothing is added for long sentences
and nothing taken off for short ones. It writes freely first, the likeliest token each time. Mostly that is a sentence
of the domain, and how far every other token that could have come there is behind says that no rival is near; then
nothing is searched. Otherwise a beam goes through the token automaton, and how far the best sentence stays behind free
speech is the measure of how well the domain explains the sound.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from voice_trainer.recognition.likelihood.model import END, Floats, SpeechModel, Start, log_normalisers
from voice_trainer.recognition.likelihood.writing import Place, Writing

BEAM = 8
"""So many sentences are followed at once, at most."""

BEHIND_NATS = 14.0
"""A sentence so far that is so much less likely than the best of its length is given up: two pieces of a name that the
model never saw must not throw the right one out.
"""

RIVAL_NATS = 9.0
"""A sentence that is further behind the best whole one than this is no rival of it. The model was trained with some
doubt left in it: no single digit that is clearly not said is much further behind.
"""

MOST_GAP_NATS = 36.0
"""A sentence so far behind free speech explains nothing."""

TOKENS_PER_SECOND = 9.0
FIRST_TOKENS = 12


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence of the domain, or (not `whole`) the beginning of one: its tokens and its log-likelihood."""

    tokens: tuple[int, ...]
    log_likelihood: float
    whole: bool


@dataclass(frozen=True, slots=True)
class Free:
    """What the model writes when it may write anything, and how likely that is.

    `is_sentence`: it is a sentence of the domain. `ahead_nats`: how far, at least, its tokens are ahead of those that
    would have led to another sentence of the domain, or to an earlier end. `sure_nats`: how far they are ahead of any.
    """

    tokens: tuple[int, ...]
    log_likelihood: float
    is_sentence: bool
    ahead_nats: float
    sure_nats: float


@dataclass(frozen=True, slots=True)
class _Path:
    """A sentence so far; `row` is that of the batch in which the scores of its next token are."""

    tokens: tuple[int, ...]
    place: Place
    log_likelihood: float
    row: int


def freely(model: SpeechModel, writing: Writing, start: Start) -> Free:
    """What the model writes by itself of an utterance that was listened to."""
    past, logits = start.past, start.logits
    place: Place | None = writing.start
    tokens: list[int] = []
    likely, ahead, sure = 0.0, np.inf, np.inf
    for _ in range(most_tokens(start.seconds)):
        scores = logits[0] - log_normalisers(logits)[0]
        first, second = (int(each) for each in np.argpartition(-scores, 1)[:2])
        likely += float(scores[first])
        sure = min(sure, float(scores[first] - scores[second]))
        if place is not None:
            ahead = min(ahead, _ahead(place, scores, first))
        if first == END:
            break
        tokens.append(first)
        place = writing.behind(place, first) if place is not None else None
        past, stepped = model.step(start.sound, past, np.array([[first]]))
        logits = stepped[:, -1]
    return Free(tuple(tokens), likely, place is not None and place.may_end, ahead, sure)


def _ahead(place: Place, scores: Floats, chosen: int) -> float:
    """How far a token is ahead of the others that may come at a place."""
    others = scores[place.tokens[place.tokens != chosen]]
    rivals = [float(others.max())] if len(others) else []
    if chosen != END and place.is_word_over:
        rivals.append(float(scores[END]))
    return float(scores[chosen]) - max(rivals) if rivals else np.inf


def search(
    model: SpeechModel, writing: Writing, start: Start, known_nats: float, beam: int = BEAM
) -> list[Sentence]:
    """The likeliest sentences of an utterance that was listened to, and beginnings of sentences, in no order.

    `known_nats` is the log-likelihood of what the model writes freely.
    """
    past, logits = start.past, start.logits
    live = [_Path((), writing.start, 0.0, 0)]
    sentences: list[Sentence] = []
    least = known_nats - MOST_GAP_NATS
    for _ in range(most_tokens(start.seconds)):
        scores = logits - log_normalisers(logits)[:, None]
        for path in live:
            if path.place.is_word_over:
                likely = path.log_likelihood + float(scores[path.row, END])
                sentences.append(Sentence(path.tokens, likely, path.place.may_end))
                least = max(least, likely - RIVAL_NATS)
        longer = [path for path in _extended(live, scores, writing, beam) if path.log_likelihood > least]
        if not longer:
            break
        past, stepped = model.step(
            start.sound,
            past.rows(np.array([path.row for path in longer])),
            np.array([[path.tokens[-1]] for path in longer]),
        )
        logits = stepped[:, -1]
        live = [_Path(path.tokens, path.place, path.log_likelihood, at) for at, path in enumerate(longer)]
    return sentences


def most_tokens(seconds: float) -> int:
    """How many tokens are written at most of so much sound: nobody speaks faster; it might go round in circles."""
    return int(FIRST_TOKENS + TOKENS_PER_SECOND * seconds)


def _extended(live: list[_Path], scores: Floats, writing: Writing, beam: int) -> list[_Path]:
    """The best sentences that are one token longer; their `row` is still that of the one before them."""
    values = [path.log_likelihood + scores[path.row, path.place.tokens] for path in live]
    every = np.concatenate(values)
    if not len(every):
        return []
    wanted = min(len(every), beam)
    top = np.argpartition(-every, wanted - 1)[:wanted]
    top = top[np.argsort(-every[top], kind="stable")]
    top = top[every[top] >= every[top[0]] - BEHIND_NATS]
    begins = np.cumsum([0, *map(len, values)])
    longer: list[_Path] = []
    for index in top:
        origin = int(np.searchsorted(begins, index, side="right")) - 1
        path = live[origin]
        token = int(path.place.tokens[index - begins[origin]])
        behind = writing.behind(path.place, token)
        assert behind is not None
        longer.append(_Path((*path.tokens, token), behind, float(every[index]), path.row))
    return longer
