"""What an utterance may mean: found by the search, proposed by others, and their nearest rivals, best first."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np

from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.word_automaton import WordAutomaton
from voice_trainer.recognition.likelihood.fit import Fit
from voice_trainer.recognition.likelihood.given import given_scores, likelihoods, spellings
from voice_trainer.recognition.likelihood.meanings import REPEAT_NATS, Meant, Reader, pooled
from voice_trainer.recognition.likelihood.model import SpeechModel, Start
from voice_trainer.recognition.likelihood.search import Found, Width, search
from voice_trainer.recognition.likelihood.tokeniser import Tokeniser
from voice_trainer.recognition.likelihood.twins import beginnings, rivals
from voice_trainer.recognition.likelihood.writing import Words, Writing

ILLEGAL_NATS = 1.0
"""How much less likely it is that somebody says no value in place of a value."""

MOST_LEAD_IN_WORDS = 2
"""Of a value that would be none, before a call."""

MOST_PLACES = 2500
"""Places of both writings; each takes about 60 kB."""


class Domain:
    """A grammar, made ready: its sentences, the ways to write them, and what they mean; and the same with illegal
    values, which are not searched for, but are rivals of what is found.
    """

    def __init__(self, grammar: Grammar, tokeniser: Tokeniser) -> None:
        self.automaton: WordAutomaton = grammar.sentences
        self.with_illegal: WordAutomaton = grammar.sentences_with_illegal_values
        self.words = self.with_illegal.vocabulary
        self.reader = Reader(grammar)
        self._tokeniser = tokeniser
        self._write_anew()

    def keep_small(self) -> None:
        """Forget what has been worked out about writing, once it is much: it is worked out again as it is needed."""
        if self.writing.size + self.writing_illegal.size > MOST_PLACES:
            self._write_anew()

    def _write_anew(self) -> None:
        self.writing = Writing(self.automaton, self._tokeniser, self.words)
        self.writing_illegal = Writing(self.with_illegal, self._tokeniser)


@dataclass(frozen=True, slots=True)
class FreeSpeech:
    """What the model writes when it may write anything, how likely it is, and whether it came to an end."""

    tokens: tuple[int, ...]
    log_likelihood: float
    ended: bool


class Candidates:
    """The meanings of one utterance. `fit` judges them; each counts once, with the best value found for it."""

    def __init__(self, model: SpeechModel, domain: Domain, start: Start, fit: Fit) -> None:
        self._model = model
        self._domain = domain
        self._start = start
        self._fit = fit
        self._meant: dict[Hashable, Meant] = {}
        self.free: FreeSpeech | None = None

    def ranked(self) -> list[Meant]:
        """All of them, best first."""
        return sorted(self._meant.values(), key=lambda meant: (-meant.value, meant.words))

    def search(self, width: Width) -> None:
        """Add what the beam finds, and the twins of the best."""
        best = self.ranked()[:1]
        known_value = best[0].value if best else -math.inf
        found = search(self._model, self._domain.writing, self._start, self._fit, width, known_value)
        self.free = FreeSpeech(found.free_tokens, found.free_log_likelihood, found.free_ended)
        meanings = pooled(found.sentences, self._domain.reader, self._fit)
        for meant in meanings:
            self._keep(meant)
        best_whole = next((meant for meant in meanings if meant.legal), None)
        if best_whole is not None:
            self._add_twins(best_whole, found)

    def propose(self, words: Words) -> Hashable | None:
        """Add a sentence that somebody else heard, and its twins. Returns the key of its meaning, None if it is no
        sentence of the domain.
        """
        if not self._domain.automaton.accepts(words):
            return None
        writing = self._domain.writing
        key = self._domain.reader.read(words)[1]
        ways = spellings(writing, words) if key not in self._meant else []
        if not ways:
            return key
        each = likelihoods(self._model, writing, self._start, ways)
        log_likelihood = float(np.logaddexp.reduce(each))
        tokens = ways[int(np.argmax(each))]
        value = log_likelihood + self._judged(words, tokens)
        proposed = self._meaning(words, tokens, log_likelihood, value)
        self._keep(proposed)
        self._add_twins(proposed, None)
        return key

    def gap(self, meant: Meant) -> float:
        """How far a meaning is behind free speech, in nats."""
        # Free speech fills its time; words that don't are so much further behind it.
        free = self.free.log_likelihood if self.free else 0.0
        behind = free - meant.log_likelihood + self._fit.misfit(meant.words)
        return behind + REPEAT_NATS * self._domain.reader.repeats(meant.words)

    def _add_twins(self, best: Meant, found: Found | None) -> None:
        writing = self._domain.writing
        if found is not None and best.path is not None:
            scores = [found.scores[at][each.row] for at, each in enumerate(best.path.chain())]
        else:
            scores = given_scores(self._model, writing, self._start, best.tokens)
        legal = self._domain.automaton
        twins = rivals(self._model, writing, legal, self._start, best.tokens, best.words, scores)
        illegal = rivals(
            self._model, self._domain.writing_illegal, self._domain.with_illegal, self._start, best.tokens,
            best.words, scores, but_not=legal,
        )  # fmt: skip
        begun = beginnings(self._model, writing, self._start, best.tokens, best.words)
        for twin in (*twins, *illegal, *begun):
            # Only one way of writing the twin was scored: the others are taken to add as much as for the best.
            shift = (
                twin.difference
                + self._judged(twin.words, twin.tokens)
                - self._judged(best.words, best.tokens)
            )
            likely = best.log_likelihood + twin.difference
            is_legal = legal.accepts(twin.words)
            if not is_legal and self._is_only_led_in(twin.words, best.key):
                continue
            value = best.value + shift - (0.0 if is_legal else ILLEGAL_NATS)
            known = self._meaning(twin.words, twin.tokens, likely, value, legal=is_legal)
            self._meant.setdefault(known.key, known)

    def _is_only_led_in(self, words: Words, key: Hashable) -> bool:
        """Whether words are no value, and then what `key` means: 'two, kelda one one four point three' is no other call
        than 'tune kelda one one four point three', where nothing has to stand before the name.
        """
        reader, legal = self._domain.reader, self._domain.automaton
        rests = (words[at:] for at in range(1, min(MOST_LEAD_IN_WORDS + 1, len(words))))
        return any(legal.accepts(rest) and reader.read(rest)[1] == key for rest in rests)

    def _judged(self, words: Words, tokens: tuple[int, ...]) -> float:
        repeats = REPEAT_NATS * self._domain.reader.repeats(words)
        return self._fit.of(words, self._domain.writing.rewarded(tokens), 0.0) - repeats

    def _meaning(
        self,
        words: Words,
        tokens: tuple[int, ...],
        log_likelihood: float,
        value: float,
        *,
        legal: bool = True,
    ) -> Meant:
        pieces, key = self._domain.reader.read(words)
        return Meant(key, words, pieces, log_likelihood, value, tokens, legal=legal)

    def _keep(self, meant: Meant) -> None:
        known = self._meant.get(meant.key)
        if known is None or meant.value > known.value:
            self._meant[meant.key] = meant
