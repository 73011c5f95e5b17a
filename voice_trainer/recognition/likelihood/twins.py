"""Close rivals of the best sentence that the search may have dropped: one word changed, added, left out, or two
neighbours swapped.

The margin must never be too wide because a rival fell out of the beam. Every such twin that the automaton
accepts is looked at; those whose first differing token was nearly as likely as the best sentence's are scored
in one batch together with it, written in the same style.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from voice_trainer.phraseology.word_automaton import WordAutomaton
from voice_trainer.recognition.likelihood.model import END, Floats, SpeechModel, log_normalisers
from voice_trainer.recognition.likelihood.search import Found, Path
from voice_trainer.recognition.likelihood.writing import Place, Spelling, Style, Words, Writing

NEAR_NATS = 8.0
"""A twin whose first differing token is so much less likely is no rival."""

MOST_TWINS = 8
_MOST_STEPS = 300

Tokens = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Twin:
    """A rival: its words, its tokens, and its log-likelihood less that of the best sentence."""

    words: Words
    tokens: Tokens
    difference: float


@dataclass(frozen=True, slots=True)
class _Manner:
    """How one word of the best sentence is written, and the marks in front of it."""

    marks: tuple[Tokens, ...]
    style: Style


@dataclass(frozen=True, slots=True)
class _Written:
    """The best sentence by words: how each is written, and where: its first token, and the place before it."""

    manners: tuple[_Manner, ...]
    at: tuple[int, ...]
    places: tuple[Place, ...]


def rivals(
    model: SpeechModel, writing: Writing, automaton: WordAutomaton, found: Found, path: Path, words: Words
) -> list[Twin]:
    """The near twins of the sentence that `path` writes and that is read as `words`, likeliest first token first."""
    tokens = path.tokens()
    written = _taken_apart(writing, tokens, words)
    if written is None:
        return []
    scores = [found.scores[at][each.row] for at, each in enumerate(path.chain())]
    near: dict[Words, tuple[float, Tokens]] = {}
    seen = {words}
    for at, taken, twin, manners in _twins(automaton, words, written.manners):
        if twin in seen or not _may_be_near(writing, written, at, taken, tokens, scores):
            continue
        seen.add(twin)
        respelled = _respelled(writing, twin, manners)
        if respelled is not None:
            loss = _first_loss(tokens, respelled, scores)
            if loss < NEAR_NATS:
                near[twin] = (loss, respelled)
    if not near:
        return []
    chosen = sorted(near.items(), key=lambda item: (item[1][0], item[0]))[:MOST_TWINS]
    totals = _totals(model, writing, found, [tokens, *(respelled for _, (_, respelled) in chosen)])
    return [Twin(twin, each, totals[at + 1] - totals[0]) for at, (twin, (_, each)) in enumerate(chosen)]


def _twins(
    automaton: WordAutomaton, words: Words, manners: tuple[_Manner, ...]
) -> Iterator[tuple[int, str, Words, tuple[_Manner, ...]]]:
    """Every twin that is a sentence: where it differs first, the word it has there, its words, their manners."""

    def ends(state: int | None, rest: Words) -> bool:
        last = automaton.walk(state, rest) if state is not None else None
        return last is not None and automaton.complete(last)

    state = automaton.start
    for at, word in enumerate(words):
        head, rest = words[:at], words[at + 1 :]
        for other, target in automaton.following(state).items():
            if other != word:
                if ends(target, rest):
                    yield at, other, (*head, other, *rest), manners
                if ends(target, words[at:]):
                    plain = _Manner((), manners[at].style)
                    added = (*manners[: at + 1], plain, *manners[at + 1 :])
                    yield at, other, (*head, other, *words[at:]), added
        if rest and rest[0] != word:
            if ends(state, rest):
                yield at, rest[0], (*head, *rest), (*manners[:at], *manners[at + 1 :])
            swapped = (rest[0], word, *rest[1:])
            if ends(state, swapped):
                yield at, rest[0], (*head, *swapped), manners
        state = automaton.following(state)[word]


def _may_be_near(
    writing: Writing, written: _Written, at: int, word: str, tokens: Tokens, scores: list[Floats]
) -> bool:
    token_at = written.at[at]
    mine = scores[token_at][tokens[token_at]]
    return any(
        mine - scores[token_at][spelling.tokens[0]] < NEAR_NATS
        for spelling in writing.spellings(written.places[at]).get(word, ())
    )


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
    manners: list[_Manner] = []
    places: list[Place] = []
    starts: list[int] = []
    marks: list[Tokens] = []
    for spelling, at, place in steps:
        if not spelling.words:
            marks.append(spelling.tokens)
            continue
        for _ in spelling.words:
            manners.append(_Manner(tuple(marks), writing.style(spelling.tokens)))
            places.append(place)
            starts.append(at)
            marks = []
    last = _Manner(tuple(marks), (False, False, False))
    return _Written((*manners, last), tuple(starts), tuple(places))


def _respelled(writing: Writing, words: Words, manners: tuple[_Manner, ...]) -> Tokens | None:
    """`words` written in the given manners as far as they allow it; the last manner is that of the end."""
    steps = 0

    def walk(place: Place, said: int) -> Tokens | None:
        nonlocal steps
        steps += 1
        if steps > _MOST_STEPS:
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
            for way in sorted(ways, key=lambda each: _unlike(writing.style(each.tokens), manner.style)):
                if words[said : said + len(way.words)] == way.words:
                    rest = walk(way.place, said + len(way.words))
                    if rest is not None:
                        return tokens + way.tokens + rest
        return None

    return walk(writing.start, 0)


def _unlike(style: Style, wanted: Style) -> int:
    return sum(mine != other for mine, other in zip(style, wanted, strict=True))


def _first_loss(tokens: Tokens, other: Tokens, scores: list[Floats]) -> float:
    """How much less likely the first differing token is than that of the best sentence."""
    for at, (mine, theirs) in enumerate(zip(tokens, other, strict=False)):
        if mine != theirs:
            return float(scores[at][mine] - scores[at][theirs])
    return 0.0


def _totals(model: SpeechModel, writing: Writing, found: Found, sentences: list[Tokens]) -> list[float]:
    """Log-likelihoods of whole sentences, from one batch; what they all begin with is read once."""
    shared = 0
    shortest = min(map(len, sentences))
    while shared < shortest - 1 and len({tokens[shared] for tokens in sentences}) == 1:
        shared += 1
    past = found.start.past
    if shared:
        head = writing.alphabet[np.array(sentences[0][:shared])][None, :]
        past, before = model.step(found.start.sound, past, head)
        opening = before[:, -1]
    else:
        opening = np.zeros((0, 0), dtype=np.float32)
    tails = [tokens[shared:] for tokens in sentences]
    width = max(map(len, tails))
    padded = np.full((len(tails), width), END, dtype=np.int64)
    for row, tail in enumerate(tails):
        padded[row, : len(tail)] = writing.alphabet[np.array(tail)]
    logits = model.score(found.start.sound, past.rows(np.zeros(len(tails), dtype=np.int64)), padded)
    normalisers = log_normalisers(logits)
    first = opening[0, writing.alphabet] - log_normalisers(opening)[0] if shared else found.scores[0][0]
    totals: list[float] = []
    for row, tail in enumerate(tails):
        total = float(first[tail[0]])
        for at, token in enumerate([*(int(writing.alphabet[each]) for each in tail[1:]), END]):
            total += float(logits[row, at, token] - normalisers[row, at])
        totals.append(total)
    return totals
