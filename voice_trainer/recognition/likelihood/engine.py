"""The recogniser that asks the speech model how likely each sentence of the domain is."""

from __future__ import annotations

import math
import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from pathlib import Path

import numpy as np

from voice_trainer.journal.hearing import HeardWord, Hearing, Interpretation, Meaning, Span
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.alignment import (
    Aligner,
    TimedWord,
    guessed_pronunciation,
    shared_aligner,
    spread,
)
from voice_trainer.recognition.likelihood.automaton import WordAutomaton
from voice_trainer.recognition.likelihood.fit import Fit
from voice_trainer.recognition.likelihood.meanings import REPEAT_NATS, Meant, Reader, pooled
from voice_trainer.recognition.likelihood.model import (
    SAMPLE_RATE,
    Floats,
    SpeechModel,
    Start,
    checked,
    hash_of,
    model_folder,
)
from voice_trainer.recognition.likelihood.search import USUAL, WIDE, Found, Width, search
from voice_trainer.recognition.likelihood.second_opinion import Opinion, second_opinion
from voice_trainer.recognition.likelihood.thresholds import (
    LOOK_AGAIN_GAP_NATS,
    NAME_NATS,
    FreeSpeech,
    clarity,
)
from voice_trainer.recognition.likelihood.tokeniser import Tokeniser, read_pieces
from voice_trainer.recognition.likelihood.trimming import Speech, trim
from voice_trainer.recognition.likelihood.twins import rivals
from voice_trainer.recognition.likelihood.writing import Words, Writing
from voice_trainer.recognition.personal import USUAL as USUAL_VOICE
from voice_trainer.recognition.personal import shifted
from voice_trainer.recognition.ports import Readiness, RecogniserError, Samples

ENGINE = "likelihood (moonshine tiny-en, moonshine-voice 0.1.0)"
INTERPRETATIONS = 5
RIVALS = 7
RIVAL_NATS = 12.0
"""A second opinion is asked for about so many sentences at most, and none further behind than that."""

NO_RIVAL_NATS = 16.0
"""The margin of a sentence without any rival: what the search would have dropped is at least so far away."""


@dataclass(frozen=True, slots=True)
class _Heard:
    """Meanings, best first, and how far the best is from the second and from free speech."""

    ranked: list[Meant]
    margin: float
    gap: float
    free: FreeSpeech


class LikelihoodRecogniser:
    """Audio to hearings by the likelihood of every sentence of the grammar. Safe to use from several threads."""

    name = ENGINE

    def __init__(self, folder: Path | None = None, aligner: Aligner | None = None, threads: int = 2) -> None:
        """Loads the model; raises RecogniserError when its files are missing."""
        folder = checked(folder or model_folder())
        self.model_hash = hash_of(folder)
        self._model = SpeechModel(folder, threads)
        self._tokeniser = Tokeniser(read_pieces(folder / "tokenizer.bin"))
        self._aligner = aligner or shared_aligner()
        self.personal = USUAL_VOICE
        self._pronounce: dict[str, str] = {}
        self._prepared: tuple[WordAutomaton, Writing, Reader] | None = None
        self._lock = threading.Lock()

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        """Make ready to hear `grammar`. Any word can be spelled, so none is ever missing; pronunciations are
        only needed to find when a word was said.
        """
        if not grammar.phrases:
            raise RecogniserError("there is nothing to listen for: the drill has no phrases")
        guessed: list[tuple[str, str]] = []
        own = {word.lower(): phones for word, phones in pronounce.items()}
        for word in sorted(grammar.vocabulary()):
            if word not in own and not self._aligner.knows(word):
                own[word] = guessed_pronunciation(word)
                guessed.append((word, own[word]))
        automaton = WordAutomaton(grammar.node())
        with self._lock:
            self._pronounce = own
            self._prepared = (automaton, Writing(automaton, self._tokeniser), Reader(grammar))
        return Readiness(guessed_words=tuple(guessed))

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        """What is said in one utterance: mono PCM at 16 kHz that begins at session time `start_seconds`."""
        with self._lock:
            if self._prepared is None:
                raise RecogniserError(
                    "the recogniser was asked to hear before it was prepared with a grammar"
                )
            automaton, writing, reader = self._prepared
            end_seconds = start_seconds + len(samples) / SAMPLE_RATE
            sound: Floats = samples.astype(np.float32) / np.float32(32768)
            speech = trim(sound)
            if speech is None:
                return Hearing(
                    start_seconds=start_seconds, end_seconds=end_seconds, clarity="not a call", engine=ENGINE
                )
            fit = Fit(speech.speech_seconds)
            start = self._model.listen(speech.samples)
            heard = self._heard(automaton, writing, reader, start, fit, USUAL, -math.inf)
            if heard is None or heard.gap > LOOK_AGAIN_GAP_NATS:
                known = heard.ranked[0].value if heard else -math.inf
                again = self._heard(automaton, writing, reader, start, fit, WIDE, known)
                if again is not None and again.ranked[0].value > known:
                    heard = again
            if heard is None:
                return Hearing(
                    start_seconds=start_seconds, end_seconds=end_seconds, clarity="not a call", engine=ENGINE
                )
            ranked, margin, gap = heard.ranked, heard.margin, heard.gap
            opinion = self._second_opinion(samples, speech, ranked)
            names = sum(word in self._pronounce for word in ranked[0].words)
            own_margin, own_gap, own_fit = shifted(self.personal, margin, gap, opinion.fit)
            judged = clarity(
                own_margin,
                own_gap - NAME_NATS * names,
                ranked[0].sentence.path.rewarded,
                heard.free,
                replace(opinion, fit=own_fit),
            )
            interpretations: tuple[Interpretation, ...] = ()
            if judged != "not a call":
                interpretations = self._timed(
                    ranked[:INTERPRETATIONS], opinion, samples, speech, start_seconds
                )
            return Hearing(
                start_seconds=start_seconds,
                end_seconds=end_seconds,
                interpretations=interpretations,
                margin=round(margin, 3),
                gap=round(gap, 3),
                clarity=judged,
                engine=ENGINE,
            )

    def _heard(
        self,
        automaton: WordAutomaton,
        writing: Writing,
        reader: Reader,
        start: Start,
        fit: Fit,
        width: Width,
        known_value: float,
    ) -> _Heard | None:
        found = search(self._model, writing, start, fit, width, known_value)
        ranked = self._ranked(automaton, writing, reader, found, fit)
        if not ranked:
            return None
        best = ranked[0]
        margin = best.value - ranked[1].value if len(ranked) > 1 else NO_RIVAL_NATS
        # Free speech fills its time; words that don't are so much further behind it.
        gap = found.free_log_likelihood - best.log_likelihood + fit.misfit(best.words)
        gap += REPEAT_NATS * reader.repeats(best.words)
        text = self._tokeniser.decode(found.free_tokens)
        return _Heard(ranked, margin, gap, FreeSpeech(text, found.free_ended))

    def _ranked(
        self, automaton: WordAutomaton, writing: Writing, reader: Reader, found: Found, fit: Fit
    ) -> list[Meant]:
        """All meanings, the twins of the best one among them, best first."""
        ranked = pooled(found.sentences, reader, fit)
        if not ranked:
            return []
        best = ranked[0]
        known = {meant.key for meant in ranked}
        for twin in rivals(self._model, writing, automaton, found, best.sentence.path, best.words):
            pieces, key = reader.read(twin.words)
            if key in known:
                continue
            # Only one way of writing the twin was scored: the others are taken to add as much as for the best.
            shift = (
                twin.difference
                + fit.of(twin.words, writing.rewarded(twin.tokens), 0.0)
                - fit.of(best.words, best.sentence.path.rewarded, 0.0)
            )
            ranked.append(
                Meant(
                    key,
                    twin.words,
                    pieces,
                    best.log_likelihood + twin.difference,
                    best.value + shift,
                    best.sentence,
                )
            )
            known.add(key)
        return sorted(ranked, key=lambda meant: (-meant.value, meant.words))

    def _second_opinion(self, samples: Samples, speech: Speech, ranked: Sequence[Meant]) -> Opinion:
        """What an independent acoustic model says of the best sentence and its nearest rivals."""
        best = ranked[0].value
        near = [meant for meant in ranked if best - meant.value < RIVAL_NATS][:RIVALS]
        return second_opinion(
            _cut(samples, speech),
            [meant.words for meant in near],
            [best - meant.value for meant in near],
            self._phones,
        )

    def _phones(self, word: str) -> str:
        return self._pronounce.get(word) or self._aligner.phones(word)

    def _times(self, samples: Samples, words: Words) -> list[TimedWord]:
        """When each word was said, if these were the words; without a memory of what was aligned before."""
        alone = second_opinion(samples, [words], [0.0], self._phones)
        return list(alone.timed) or spread(words, 0.0, len(samples) / SAMPLE_RATE)

    def _timed(
        self,
        ranked: Sequence[Meant],
        opinion: Opinion,
        samples: Samples,
        speech: Speech,
        start_seconds: float,
    ) -> tuple[Interpretation, ...]:
        offset = start_seconds + speech.first / SAMPLE_RATE
        best = list(opinion.timed) or self._times(_cut(samples, speech), ranked[0].words)
        interpretations = []
        for meant in ranked:
            timed = best if meant is ranked[0] else carried_over(best, meant.words)
            heard = [
                HeardWord(
                    text=text, start_seconds=round(offset + start, 3), end_seconds=round(offset + end, 3)
                )
                for text, start, end in timed
            ]
            spans = tuple(
                Span(
                    kind=piece.kind,
                    words=tuple(heard[piece.first : piece.last_exclusive]),
                    meanings=tuple(
                        Meaning(phrase=each.phrase, slots=dict(each.slots), remarks=each.remarks)
                        for each in piece.meanings
                    ),
                )
                for piece in meant.pieces
            )
            interpretations.append(Interpretation(spans=spans, log_likelihood=round(meant.log_likelihood, 3)))
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
