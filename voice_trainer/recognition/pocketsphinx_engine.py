"""Hearing with pocketsphinx: the engine that is always there, its English model inside the wheel.

An utterance is decoded when it is over, in one piece, so that the cepstral mean is taken over all of it: in
noise that is much better than a running mean. It is decoded several times:

1. Against everything the grammar can say, over and over (several calls in a breath), every value open.
2. Against any phones at all. How far that is ahead, for each frame of words, is the gap.
3. Twice more like the first, the sound played a little faster and a little slower. What was said survives
   that, what was read into it mostly does not: of 348 right calls and 94 stretches of other speech, all three
   agreed on the truth in 195 cases and on something else in 18.
4. Against the rivals of what was found (`recognition.rivals`), and nothing else. How far the best rival of
   other meaning stays behind is the margin.

What cannot become clear any more is not decoded further.

Measured on synthetic speech that had no part in setting the thresholds (29 right or wrong calls, 7 other
sentences, 3 voices, 2 of them new; in each condition 87 calls and 21 others):

    condition            clear, as said   clear, otherwise   unclear   not a call   other speech taken for clear
    clean                            69                  1         9            8                             0
    engine noise 10 dB                8                  0        71            8                             0
    radio 300-3400 Hz                15                  0        58           14                             0

The one that was heard otherwise had a time in place of its callsign. About 0.7 s of computing for
2.5 s of speech.

Its own noise removal changes nothing here; `recognition.denoising` does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import soxr

from voice_trainer.journal.hearing import Clarity, Hearing, Interpretation, Span
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.denoising import denoised, dynamic_range_decibels
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.pocketsphinx_search import (
    ANOTHER_PHRASE,
    SAMPLE_RATE,
    SHORTEST_SAMPLES,
    Decoding,
    Transitions,
    WordSearch,
    one_of,
    repeated,
)
from voice_trainer.recognition.ports import Readiness, Samples
from voice_trainer.recognition.reading import meaning_of, read_words
from voice_trainer.recognition.rivals import rivals_of
from voice_trainer.recognition.word_network import WordNetwork, compile_node

DECODING = Decoding(comparable=True)

SPEEDS = (0.94, 1.06)
"""How much slower and faster the sound is played for the second opinions: as much as voices differ."""

STEADY_DECIBELS = 6.0
"""Sound that varies less than this is noise: speech at a signal-to-noise ratio of 10 dB varies by 12 dB."""


@dataclass(frozen=True, slots=True)
class PocketsphinxThresholds:
    """What is believed. Margins in nats, gaps in nats a frame of 10 ms, as this engine counts them.

    The better the sound, the less margin it takes: `quiet_margin` from a dynamic range of `quiet_decibels` up,
    `noisy_margin` from `noisy_decibels` down, in proportion between. `clear_gap`: how far words may be from
    free speech; `call_gap`: from there on it is nobody's call; `doubtful_gap`: the same where the second
    opinions agree with nothing either.
    """

    quiet_margin: float = 0.0
    quiet_decibels: float = 45.0
    noisy_margin: float = 45.0
    noisy_decibels: float = 30.0
    clear_gap: float = 0.9
    call_gap: float = 1.4
    doubtful_gap: float = 0.6

    def margin_at(self, decibels: float) -> float:
        """The margin that it takes at a dynamic range of so many decibels."""
        share = (self.quiet_decibels - decibels) / (self.quiet_decibels - self.noisy_decibels)
        return self.quiet_margin + min(1.0, max(0.0, share)) * (self.noisy_margin - self.quiet_margin)


class PocketsphinxRecogniser:
    """The recogniser over the model in the pocketsphinx wheel. Not for use from two threads at once."""

    def __init__(self, thresholds: PocketsphinxThresholds | None = None) -> None:
        self._words = WordSearch()
        self.thresholds = thresholds or PocketsphinxThresholds()
        self.name = self._words.name
        self.model_hash = self._words.model_hash()
        self._grammar: Grammar | None = None
        self._network: WordNetwork | None = None
        self._phrases: Transitions = (0, 0, [])

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        """Make ready to hear `grammar`; see `Recogniser.prepare`. About half a second.

        Words that the dictionary lacks get the pronunciation in `pronounce`, else one that the trade gives
        them, else a guess; only guesses are reported. Raises RecogniserError for phones that are none.
        """
        network = compile_node(grammar.node())
        guessed = self._words.prepare(network.words, pronounce)
        self._grammar, self._network = grammar, network
        self._phrases = repeated(network)
        return Readiness(guessed_words=guessed)

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        """What is said in one utterance; see `Recogniser.hear`. Raises RecogniserError before `prepare`.

        `margin` is None where a second opinion or the gap has already said that it is not clear.
        """
        if self._grammar is None or self._network is None:
            raise RecogniserError("the recogniser has not been given a grammar yet: call prepare first")
        end_seconds = start_seconds + len(samples) / SAMPLE_RATE
        nothing = Hearing(
            start_seconds=start_seconds, end_seconds=end_seconds, clarity="not a call", engine=self.name
        )
        decibels = dynamic_range_decibels(samples)
        if len(samples) < SHORTEST_SAMPLES or decibels < STEADY_DECIBELS:
            return nothing
        samples = denoised(samples)
        found = self._words.best(samples, self._phrases, DECODING)
        readings = read_words(found.heard(start_seconds), self._grammar, found.score) if found else ()
        if found is None or not readings:
            return nothing
        best = readings[0]
        free = self._words.best(samples, None, DECODING)
        gap = None if free is None else (free.score - found.score) / found.word_frames
        margin: float | None = None
        clarity: Clarity = "not a call"
        if _is_somebodys(best) and gap is not None and gap < self.thresholds.call_gap:
            agreeing = self._agreeing(best, samples)
            if agreeing == 0 and gap >= self.thresholds.doubtful_gap:
                clarity = "not a call"
            elif agreeing < len(SPEEDS) or gap >= self.thresholds.clear_gap or _has_other(best):
                clarity = "unclear"
            else:
                margin, others = self._margin(best, found.score, samples, start_seconds)
                readings = (*readings, *others)
                sure = margin is None or margin >= self.thresholds.margin_at(decibels)
                clarity = "clear" if sure else "unclear"
        return Hearing(
            start_seconds=start_seconds,
            end_seconds=end_seconds,
            interpretations=readings,
            margin=margin,
            gap=gap,
            clarity=clarity,
            engine=self.name,
        )

    def _agreeing(self, best: Interpretation, samples: Samples) -> int:
        """How many of the second opinions mean the same as the first; the rest is not asked after two that differ."""
        assert self._grammar is not None
        agreeing = 0
        for speed in SPEEDS:
            played = soxr.resample(samples.astype(np.float32), SAMPLE_RATE * speed, SAMPLE_RATE, quality="MQ")
            other = self._words.best(
                np.clip(np.rint(played), -32768, 32767).astype(np.int16), self._phrases, DECODING
            )
            readings = read_words(other.heard(0.0), self._grammar) if other else ()
            agreeing += any(meaning_of(reading) == meaning_of(best) for reading in readings)
        return agreeing

    def _margin(
        self, best: Interpretation, score: float, samples: Samples, start_seconds: float
    ) -> tuple[float | None, tuple[Interpretation, ...]]:
        """How far the best rival stays behind, and its readings; None where there is no rival."""
        assert self._grammar is not None and self._network is not None
        rivals = self._rivals(best, self._grammar, self._network)
        rival = self._words.best(samples, one_of(rivals), DECODING) if rivals else None
        if rival is None:
            return None, ()
        # What it cost to go on with another phrase is no part of the comparison.
        alone = score - (len(best.spans) - 1) * math.log(ANOTHER_PHRASE)
        return alone - rival.score, read_words(rival.heard(start_seconds), self._grammar, rival.score)

    def _rivals(self, best: Interpretation, grammar: Grammar, network: WordNetwork) -> list[tuple[str, ...]]:
        """Whole utterances of other meaning, each with another phrase in the place of one that was found."""
        texts = [tuple(word.text for word in span.words) for span in best.spans]
        rivals: list[tuple[str, ...]] = []
        for place, span in enumerate(best.spans):
            if span.kind == "other":
                continue
            before = tuple(word for text in texts[:place] for word in text)
            after = tuple(word for text in texts[place + 1 :] for word in text)
            rivals += [
                (*before, *rival, *after)
                for rival in rivals_of(network, texts[place])
                if not _same_meaning(rival, span, grammar)
            ]
        return rivals


def _same_meaning(words: tuple[str, ...], span: Span, grammar: Grammar) -> bool:
    readings = grammar.read(words)
    wanted = {(meaning.phrase, tuple(sorted(meaning.slots.items()))) for meaning in span.meanings}
    return any(
        len(pieces) == 1
        and any((each.phrase, tuple(sorted(each.slots.items()))) in wanted for each in pieces[0].meanings)
        for pieces in readings
    )


def _is_somebodys(best: Interpretation) -> bool:
    return any(span.kind != "other" for span in best.spans)


def _has_other(best: Interpretation) -> bool:
    return any(span.kind == "other" for span in best.spans)
