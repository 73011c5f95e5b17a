"""Scores of sentences that are given, not searched for: how they may be written, and how likely that is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from voice_trainer.recognition.likelihood.model import END, Floats, SpeechModel, Start, log_normalisers
from voice_trainer.recognition.likelihood.writing import Place, Style, Words, Writing

MOST_STEPS = 300

Tokens = tuple[int, ...]
"""By the alphabet in use."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How one word is written, and the marks in front of it; `tokens` are the very ones, where it is one word's manner
    already ('having' for 'heading'), and else ().
    """

    marks: tuple[Tokens, ...]
    style: Style
    tokens: Tokens = ()


def spellings(writing: Writing, words: Words) -> list[Tokens]:
    """The plainest ways to write `words`: in words or figures, with a full stop or without."""
    ways: dict[Tokens, None] = {}
    for in_figures in (False, True):
        first = Manner((), (in_figures, False, True))
        later = Manner((), (in_figures, in_figures, False))
        for marks in ((), ((writing.stop,),)):
            last = Manner(marks, later.style)
            tokens = respelled(writing, words, (first, *(later,) * (len(words) - 1), last))
            if tokens is not None:
                ways[tokens] = None
    return list(ways)


def respelled(writing: Writing, words: Words, manners: tuple[Manner, ...]) -> Tokens | None:
    """`words` written in the given manners as far as they allow it; the last manner is that of the end."""
    steps = 0

    def walk(place: Place, said: int) -> Tokens | None:
        nonlocal steps
        steps += 1
        if steps > MOST_STEPS:
            return None
        manner = manners[min(said, len(manners) - 1)]
        with_marks: Tokens = ()
        marked = place
        for mark in manner.marks:
            following = [way for way in writing.spellings(marked).get("", ()) if way.tokens == mark]
            if following:
                with_marks += mark
                marked = following[0].place
        for tokens, start in dict.fromkeys(((with_marks, marked), ((), place))):
            if said == len(words):
                if start.may_end:
                    return tokens
                continue
            ways = writing.spellings(start).get(words[said], ())
            for way in sorted(ways, key=lambda each: _unlike(writing, each.tokens, manner)):
                if words[said : said + len(way.words)] == way.words:
                    rest = walk(way.place, said + len(way.words))
                    if rest is not None:
                        return tokens + way.tokens + rest
        return None

    return walk(writing.start, 0)


def _unlike(writing: Writing, tokens: Tokens, wanted: Manner) -> int:
    if tokens == wanted.tokens:
        return -1
    return sum(mine != other for mine, other in zip(writing.style(tokens), wanted.style, strict=True))


def given_scores(model: SpeechModel, writing: Writing, start: Start, tokens: Tokens) -> list[Floats]:
    """Log-probabilities over the alphabet of the token at each place of a sentence, and of what follows it."""
    logits = start.logits
    if tokens:
        ids = writing.alphabet[np.array(tokens)][None, :]
        logits = np.concatenate([logits, model.score(start.sound, start.past, ids)[0]])
    scores = logits[:, writing.alphabet] - log_normalisers(logits)[:, None]
    return list(scores)


def likelihoods(model: SpeechModel, writing: Writing, start: Start, sentences: list[Tokens]) -> list[float]:
    """Log-likelihoods of whole sentences, from one batch; what they all begin with is read once."""
    shared = 0
    shortest = min(map(len, sentences))
    while shared < shortest - 1 and len({tokens[shared] for tokens in sentences}) == 1:
        shared += 1
    past, opening = start.past, start.logits
    common = 0.0
    if shared:
        head = writing.alphabet[np.array(sentences[0][:shared])]
        past, before = model.step(start.sound, past, head[None, :])
        read = np.concatenate([opening, before[0]])
        normalisers = log_normalisers(read)
        common = float(sum(read[at, token] - normalisers[at] for at, token in enumerate(head)))
        opening = read[-1:]
    tails = [tokens[shared:] for tokens in sentences]
    width = max(map(len, tails))
    padded = np.full((len(tails), width), END, dtype=np.int64)
    for row, tail in enumerate(tails):
        padded[row, : len(tail)] = writing.alphabet[np.array(tail)]
    logits = model.score(start.sound, past.rows(np.zeros(len(tails), dtype=np.int64)), padded)
    normalisers = log_normalisers(logits)
    first = opening[0] - log_normalisers(opening)[0]
    totals: list[float] = []
    for row, tail in enumerate(tails):
        ids = writing.alphabet[np.array(tail)]
        total = common + float(first[ids[0]])
        for at, token in enumerate([*ids[1:], END]):
            total += float(logits[row, at, token] - normalisers[row, at])
        totals.append(total)
    return totals
