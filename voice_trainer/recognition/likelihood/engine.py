"""The recogniser that asks the speech model how likely each sentence of the domain is.

First the beam's candidates and their twins, with a second opinion. What is not clear by then is looked at again:
the other model, searching the whole grammar by itself, proposes a sentence, and the beam is widened.
"""

from __future__ import annotations

import threading
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from pathlib import Path

import numpy as np

from voice_trainer.journal.hearing import Clarity, HeardWord, Hearing, Interpretation
from voice_trainer.journal.personal import Personal
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.likelihood.candidates import Candidates, Domain
from voice_trainer.recognition.likelihood.fit import Fit
from voice_trainer.recognition.likelihood.meanings import Meant
from voice_trainer.recognition.likelihood.model import (
    SAMPLE_RATE,
    Floats,
    SpeechModel,
    checked,
    hash_of,
    model_folder,
)
from voice_trainer.recognition.likelihood.search import USUAL, WIDE
from voice_trainer.recognition.likelihood.second_opinion import Opinion, second_opinion
from voice_trainer.recognition.likelihood.spelled_words import spelled_word
from voice_trainer.recognition.likelihood.thresholds import LOOK_AGAIN_GAP_NATS, NAME_NATS, Evidence, clarity
from voice_trainer.recognition.likelihood.tokeniser import Tokeniser, read_pieces
from voice_trainer.recognition.likelihood.trimming import Speech, trim
from voice_trainer.recognition.personal import USUAL as USUAL_VOICE
from voice_trainer.recognition.personal import shifted
from voice_trainer.recognition.pocketsphinx_search import Decoding, Transitions, WordSearch, repeated
from voice_trainer.recognition.ports import Readiness, Samples, SpelledWord
from voice_trainer.recognition.reading import spans_of
from voice_trainer.recognition.word_network import compile_node
from voice_trainer.recognition.word_times import TimedWord, spread

ENGINE = "likelihood (moonshine tiny-en, moonshine-voice 0.1.0)"
PROPOSING = Decoding(comparable=False)
INTERPRETATIONS = 5
ASKED_ABOUT = 7
ASKED_WITHIN_NATS = 14.0
"""A second opinion is asked for about so many sentences at most, and none further behind than that."""


@dataclass(frozen=True, slots=True)
class _Prepared:
    """One grammar, ready for both models, and the words whose pronunciation nobody had written down."""

    domain: Domain
    phrases: Transitions
    names: frozenset[str]


@dataclass(frozen=True, slots=True)
class _Judged:
    """Meanings, the best by both models first, and what is to be thought of it."""

    ranked: list[Meant]
    opinion: Opinion | None
    margin: float
    gap: float
    clarity: Clarity


@dataclass(frozen=True, slots=True)
class _Glanced:
    """A first look at some sound, so that a thorough one goes on from there."""

    samples: bytes
    prepared: _Prepared
    personal: Personal
    candidates: Candidates
    judged: _Judged | None

    def is_of(self, samples: Samples, prepared: _Prepared, personal: Personal) -> bool:
        """Whether it was a look at the same sound, for the same grammar and the same voice."""
        return self.prepared is prepared and self.personal == personal and self.samples == samples.tobytes()


class LikelihoodRecogniser:
    """Audio to hearings by the likelihood of every sentence of the grammar. Safe to use from several threads."""

    name = ENGINE

    def __init__(self, folder: Path | None = None, threads: int = 2) -> None:
        """Loads the model; raises RecogniserError when its files are missing."""
        folder = checked(folder or model_folder())
        self.model_hash = hash_of(folder)
        self._model = SpeechModel(folder, threads)
        self._tokeniser = Tokeniser(read_pieces(folder / "tokenizer.bin"))
        self.personal = USUAL_VOICE
        self._words = WordSearch()
        self._prepared: _Prepared | None = None
        self._glanced: _Glanced | None = None
        self._lock = threading.Lock()

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        """Make ready to hear `grammar`; see `Recogniser.prepare`. Any word can be spelled, so none is ever missing;
        the second opinion needs pronunciations.
        """
        if not grammar.phrases:
            raise RecogniserError("there is nothing to listen for: the drill has no phrases")
        domain = Domain(grammar, self._tokeniser)
        network = compile_node(grammar.node())
        with self._lock:
            guessed = self._words.prepare({*network.words, *domain.words}, pronounce)
            names = frozenset(pronounce) | {word for word, _ in guessed}
            self._prepared = _Prepared(domain, repeated(network), names)
        return Readiness(guessed_words=guessed)

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        """What is said in one utterance: mono PCM at 16 kHz that begins at session time `start_seconds`."""
        return self._heard(samples, start_seconds, looks_again=True)

    def glance(self, samples: Samples, start_seconds: float) -> Hearing:
        """See `Glancing`."""
        return self._heard(samples, start_seconds, looks_again=False)

    def _heard(self, samples: Samples, start_seconds: float, *, looks_again: bool) -> Hearing:
        with self._lock:
            if self._prepared is None:
                raise RecogniserError(
                    "the recogniser was asked to hear before it was prepared with a grammar"
                )
            self._prepared.domain.keep_small()
            end_seconds = start_seconds + len(samples) / SAMPLE_RATE
            nothing = Hearing(
                start_seconds=start_seconds, end_seconds=end_seconds, clarity="not a call", engine=ENGINE
            )
            sound: Floats = samples.astype(np.float32) / np.float32(32768)
            speech = trim(sound)
            if speech is None:
                return nothing
            judged = self._judged(self._prepared, _cut(samples, speech), speech, looks_again=looks_again)
            if judged is None:
                return nothing
            interpretations: tuple[Interpretation, ...] = ()
            if judged.clarity != "not a call":
                offset = start_seconds + speech.first / SAMPLE_RATE
                best = judged.ranked[0]
                shown = [meant for meant in judged.ranked if meant.legal or meant is best]
                interpretations = _timed(shown[:INTERPRETATIONS], judged.opinion, speech, offset)
            return nothing.model_copy(
                update={
                    "interpretations": interpretations,
                    "margin": round(judged.margin, 3),
                    "gap": round(judged.gap, 3),
                    "clarity": judged.clarity,
                }
            )

    def spelled_word(self, word: str, clips: Sequence[Samples]) -> SpelledWord:
        """How the model spells a word, spoken alone by several voices (mono PCM at 16 kHz)."""
        return spelled_word(self._model, self._tokeniser, word, clips)

    def _judged(
        self, prepared: _Prepared, samples: Samples, speech: Speech, *, looks_again: bool
    ) -> _Judged | None:
        """The candidates with both models' opinions; a second look where the first leaves a doubt."""
        glanced, self._glanced = self._glanced, None
        if glanced is None or not glanced.is_of(samples, prepared, self.personal):
            start = self._model.listen(speech.samples)
            candidates = Candidates(self._model, prepared.domain, start, Fit(speech.speech_seconds))
            candidates.search(USUAL)
            judged = self._opinion(prepared, candidates, samples, None)
            glanced = _Glanced(samples.tobytes(), prepared, self.personal, candidates, judged)
        candidates, judged = glanced.candidates, glanced.judged
        if not looks_again or (judged is not None and judged.clarity == "clear"):
            self._glanced = glanced
            return judged
        proposed = self._words.best(samples, prepared.phrases, PROPOSING)
        proposal = candidates.propose(proposed.words) if proposed is not None else None
        if judged is None or judged.gap > LOOK_AGAIN_GAP_NATS:
            candidates.search(WIDE)
        return self._opinion(prepared, candidates, samples, proposal)

    def _opinion(
        self, prepared: _Prepared, candidates: Candidates, samples: Samples, proposal: Hashable | None
    ) -> _Judged | None:
        ranked = candidates.ranked()
        if not ranked:
            return None
        near = [meant for meant in ranked if ranked[0].value - meant.value < ASKED_WITHIN_NATS][:ASKED_ABOUT]
        opinion = second_opinion(
            self._words, samples, [meant.words for meant in near], [meant.value for meant in near]
        )
        if opinion is not None:
            best = near[opinion.best]
            ranked = [best, *(meant for meant in ranked if meant is not best)]
        best, free = ranked[0], candidates.free
        assert free is not None
        gap = candidates.gap(best)
        names = sum(word in prepared.names for word in best.words)
        others = max((meant.value for meant in ranked[1:]), default=best.value - ASKED_WITHIN_NATS)
        margin = best.value - others
        # Where not even the second opinion has a fit, no profile changes that.
        own_margin, own_gap, own_fit = shifted(self.personal, margin, gap, opinion.fit if opinion else 0.0)
        evidence = Evidence(
            replace(opinion, fit=own_fit) if opinion else None,
            own_margin,
            own_gap - NAME_NATS * names,
            prepared.domain.writing.rewarded(best.tokens),
            self._tokeniser.decode(free.tokens),
            seconded=best.key == proposal,
            is_phrase=any(piece.kind != "other" for piece in best.pieces),
        )
        verdict = clarity(evidence)
        if verdict == "clear" and not best.legal:
            verdict = "unclear"
        return _Judged(ranked, opinion, margin, gap, verdict)


def _timed(
    ranked: Sequence[Meant], opinion: Opinion | None, speech: Speech, offset: float
) -> tuple[Interpretation, ...]:
    """Meanings as interpretations; the best one's words where the second opinion places them."""
    if opinion is not None:
        best = list(opinion.timed)
    else:
        best = spread(ranked[0].words, 0.0, len(speech.samples) / SAMPLE_RATE)
    interpretations = []
    for meant in ranked:
        timed = best if meant is ranked[0] else carried_over(best, meant.words)
        heard = [
            HeardWord(text=text, start_seconds=round(offset + start, 3), end_seconds=round(offset + end, 3))
            for text, start, end in timed
        ]
        interpretations.append(
            Interpretation(spans=spans_of(meant.pieces, heard), log_likelihood=round(meant.log_likelihood, 3))
        )
    return tuple(interpretations)


def _cut(samples: Samples, speech: Speech) -> Samples:
    return samples[speech.first : speech.first + len(speech.samples)]


def carried_over(timed: Sequence[TimedWord], words: Sequence[str]) -> list[TimedWord]:
    """Times for another wording of the same sound: equal words keep theirs, the others share what is between."""
    matcher = SequenceMatcher(None, [text for text, _, _ in timed], list(words), autojunk=False)
    result: list[TimedWord] = []
    for _, old_first, old_end, new_first, new_end in matcher.get_opcodes():
        if new_end == new_first:
            continue
        if old_end - old_first == new_end - new_first:
            result.extend(
                (word, start, end)
                for word, (_, start, end) in zip(
                    words[new_first:new_end], timed[old_first:old_end], strict=True
                )
            )
            continue
        start = timed[old_first][1] if old_first < len(timed) else timed[-1][2]
        end = timed[old_end - 1][2] if old_end > old_first else start
        result.extend(spread(words[new_first:new_end], start, max(start, end)))
    return result
