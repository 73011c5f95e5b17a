"""A second opinion on what was said, by an acoustic model that knows nothing of the first.

Two different recognisers rarely make the same mistake. The neural model now and then prefers 'eight hundred' to a
clearly spoken 'niner hundred', or 'go ahead' to a long sentence that it can't spell; pocketsphinx, asked which of
these few sentences fits the sound best, does not. What the drill expects plays no part.

The two are added up, the second with a small weight: its frames count as independent, so it is far too sure of
itself. All candidates go into one graph, each with a lead for what the first model thinks of it; the best path is
the best by both together. In another search all others get so large a lead more that one of them wins exactly
when the best one is not far enough ahead. (Scores of two searches can't be compared: see `pocketsphinx_search`.)

The same search says how well the best sentence covers the sound. 'Unable' may be the likeliest sentence of the
domain for four words that nobody listened for; to an acoustic model most of the sound is then unexplained.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from voice_trainer.recognition.pocketsphinx_search import Arc, Decoding, Found, WordSearch
from voice_trainer.recognition.ports import Samples
from voice_trainer.recognition.word_times import TimedWord, dithered

WEIGHT = 0.05
"""What a nat of the second model counts for, in nats of the first."""

ADVISING = Decoding(comparable=False, word_penalty=1.0, beam=1e-300, word_beam=1e-300)
"""Candidates of more words are no less likely. And hardly any pruning: the leads come at the end of the sentences,
where a path that is behind would be given up."""

MOST_LEAD_NATS = 600.0
"""No candidate is further behind than this, in nats of the second model: its probability must stay a number."""

LEADS_NATS = (4.0, 2.0)
"""How far ahead of each rival the best sentence may be found to be, by both together."""

Sentence = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Opinion:
    """What both models together say of some sentences.

    `best` is the number of the best one, and `ahead_nats` by how much at least it is ahead of all others: one of
    `LEADS_NATS`, or 0. `fit` is the second model's log-likelihood of all of the sound, in nats a frame of words:
    about -4 where the sentence is what was said, -20 where it is not. `timed` are its words.
    """

    best: int
    ahead_nats: float
    fit: float
    timed: tuple[TimedWord, ...]


def second_opinion(
    search: WordSearch, samples: Samples, sentences: Sequence[Sentence], values: Sequence[float]
) -> Opinion | None:
    """Which of `sentences` is in mono PCM at 16 kHz, given what the first model thinks of each, in nats.

    None when not one of them fits the sound. `search` must know all words.
    """
    sound = dithered(samples)
    leads = [max(-MOST_LEAD_NATS, (value - max(values)) / WEIGHT) for value in values]
    first = search.best(sound, _with_leads(sentences, leads), ADVISING)
    if first is None or first.words not in sentences:
        return None
    best = sentences.index(first.words)
    ahead = LEADS_NATS[0] if len(sentences) == 1 else 0.0
    for nats in LEADS_NATS:
        if ahead == 0.0:
            handicapped = list(leads)
            handicapped[best] = max(-MOST_LEAD_NATS, handicapped[best] - nats / WEIGHT)
            again = search.best(sound, _with_leads(sentences, handicapped), ADVISING)
            ahead = nats if again is not None and again.words == first.words else 0.0
    return Opinion(best, ahead, (first.score - leads[best]) / first.word_frames, _timed(first))


def _timed(found: Found) -> tuple[TimedWord, ...]:
    return tuple((word.text, word.start_seconds, word.end_seconds) for word in found.heard(0.0))


def _with_leads(
    sentences: Sequence[Sentence], log_probabilities: Sequence[float]
) -> tuple[int, int, list[Arc]]:
    """A graph with one way through it for every sentence: its first and last state, and its arcs.

    Sentences share what they begin with: rivals mostly differ in one word, and what is shared is searched once.
    """
    arcs: list[Arc] = []
    after: dict[Sentence, int] = {(): 0}
    for sentence in sentences:
        for at, word in enumerate(sentence):
            longer = sentence[: at + 1]
            if longer not in after:
                after[longer] = len(after)
                arcs.append((after[sentence[:at]], after[longer], 1.0, word))
    last = len(after)
    ends = zip(sentences, log_probabilities, strict=True)
    return 0, last, [*arcs, *((after[sentence], last, math.exp(nats)) for sentence, nats in ends)]
