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

All senones are computed in every frame (`compallsen`): the decoder's scores count from the best senone of the
frame, so only then can scores of different searches be compared.

Learnt the hard way, and why the decoder is set as it is:

- `bestpath` searches the word lattice again, forgets the grammar there, and takes seconds in noise: off.
- A sentence that was pruned before its end comes back as if it were a result. Whatever comes back is read
  against the grammar again, and what the grammar does not have is nobody's.
- `hyp().score` is in units of 2^-10 of the decoder's logarithm, `seg().ascore` underflows: the logarithm of
  the first, times 1024, is the score in nats.
- Scores depend on what the decoder heard before (the Gaussians of the last frame are where it starts to
  look): each search has a decoder of its own, 30 ms, and the same sound is heard the same each time.
- One word without a pronunciation makes a whole grammar fail, and `add_word` leaves its words behind: each
  grammar has a dictionary of its own, with nothing else in it.
- Its own noise removal changes nothing here; `recognition.denoising` does.
"""

from __future__ import annotations

import hashlib
import math
import os
import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np
import soxr

from voice_trainer.journal.hearing import Clarity, HeardWord, Hearing, Interpretation, Span
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.nodes import Choice, Word
from voice_trainer.phraseology.nodes import Sequence as Parts
from voice_trainer.recognition.denoising import denoised, dynamic_range_decibels
from voice_trainer.recognition.ports import Readiness, RecogniserError, Samples
from voice_trainer.recognition.pronunciation import TRADE_PRONUNCIATIONS, check_phones, pronounce
from voice_trainer.recognition.reading import meaning_of, read_words
from voice_trainer.recognition.rivals import rivals_of
from voice_trainer.recognition.word_network import WordNetwork, compile_node

SAMPLE_RATE = 16_000
FRAMES_A_SECOND = 100
SHORTEST_SAMPLES = SAMPLE_RATE // 10
SCORE_SHIFT = 1 << 10

WORD_PENALTY = 1e-3
"""What each word costs, as a probability."""

ANOTHER_PHRASE = 1e-10
"""Probability of going on with another phrase after one: keeps noise from being covered with short words."""


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
        try:
            import pocketsphinx
        except ImportError as error:
            raise RecogniserError(
                "pocketsphinx can't be loaded: install it with 'pip install pocketsphinx==5.1.1'"
            ) from error
        self._pocketsphinx: Any = pocketsphinx
        self._model = Path(pocketsphinx.get_model_path("en-us"))
        if not (self._model / "en-us" / "mdef").is_file():
            raise RecogniserError(f"there is no pocketsphinx model at {self._model}: reinstall pocketsphinx")
        self.thresholds = thresholds or PocketsphinxThresholds()
        self.name = f"pocketsphinx {metadata.version('pocketsphinx')}"
        self.model_hash = self._hash()
        self._grammar: Grammar | None = None
        self._network: WordNetwork | None = None
        self._phrases: _Transitions = (0, 0, [])
        self._dictionary_lines: list[str] = []

    def _hash(self) -> str:
        """SHA-256 over the acoustic model's files and the dictionary, by name."""
        digest = hashlib.sha256()
        files = [*sorted((self._model / "en-us").iterdir()), self._model / "cmudict-en-us.dict"]
        for file in files:
            digest.update(file.name.encode() + b"\0" + file.read_bytes())
        return digest.hexdigest()

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        """Make ready to hear `grammar`; see `Recogniser.prepare`. About half a second.

        Words that the dictionary lacks get the pronunciation in `pronounce`, else one that the trade gives
        them, else a guess; only guesses are reported. Raises RecogniserError for phones that are none.
        """
        network = compile_node(grammar.node())
        ways = {word: self._pronounced(word, pronounce) for word in sorted(network.words)}
        self._dictionary_lines = [
            f"{word} {phones}" if number == 0 else f"{word}({number + 1}) {phones}"
            for word, (every, _) in ways.items()
            for number, phones in enumerate(every)
        ]
        self._grammar, self._network = grammar, network
        self._phrases = _repeated(network)
        return Readiness(
            guessed_words=tuple((word, phones[0]) for word, (phones, guessed) in ways.items() if guessed)
        )

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
        found = self._search(samples, self._phrases)
        readings = read_words(found.heard(start_seconds), self._grammar, found.score) if found else ()
        if found is None or not readings:
            return nothing
        best = readings[0]
        free = self._search(samples, None)
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
            other = self._search(np.clip(np.rint(played), -32768, 32767).astype(np.int16), self._phrases)
            readings = read_words(other.heard(0.0), self._grammar) if other else ()
            agreeing += any(meaning_of(reading) == meaning_of(best) for reading in readings)
        return agreeing

    def _margin(
        self, best: Interpretation, score: float, samples: Samples, start_seconds: float
    ) -> tuple[float | None, tuple[Interpretation, ...]]:
        """How far the best rival stays behind, and its readings; None where there is no rival."""
        assert self._grammar is not None and self._network is not None
        rivals = self._rivals(best, self._grammar, self._network)
        rival = self._search(samples, _once(rivals)) if rivals else None
        if rival is None:
            return None, ()
        # What it cost to go on with another phrase is no part of the comparison.
        alone = score - (len(best.spans) - 1) * math.log(ANOTHER_PHRASE)
        return alone - rival.score, read_words(rival.heard(start_seconds), self._grammar, rival.score)

    def _new_decoder(self) -> Any:
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "words.dict"
            file.write_text("\n".join(self._dictionary_lines) + "\n", encoding="utf-8")
            return self._pocketsphinx.Decoder(
                samprate=SAMPLE_RATE,
                hmm=str(self._model / "en-us"),
                dict=str(file),
                lm=None,
                loglevel="FATAL",
                logfn=os.devnull,
                compallsen=True,
                bestpath=False,
                lw=1.0,
                wip=WORD_PENALTY,
                beam=1e-64,
                pbeam=1e-64,
                wbeam=1e-40,
            )

    @cached_property
    def _dictionary(self) -> dict[str, list[str]]:
        known: dict[str, list[str]] = {}
        with (self._model / "cmudict-en-us.dict").open(encoding="utf-8") as lines:
            for line in lines:
                entry, _, phones = line.strip().partition(" ")
                known.setdefault(entry.partition("(")[0], []).append(phones)
        return known

    def _pronounced(self, word: str, given: Mapping[str, str]) -> tuple[list[str], bool]:
        """Every way to say `word`, and whether they are a guess."""
        if word in given:
            return [check_phones(word, given[word])], False
        ways = [*self._dictionary.get(word, ()), *TRADE_PRONUNCIATIONS.get(word, ())]
        return (list(dict.fromkeys(ways)), False) if ways else ([pronounce(word)], True)

    def _search(self, samples: Samples, network: _Transitions | None) -> _Found | None:
        """The best path through `network`, through any phones where it is None; None for no words at all."""
        decoder = self._new_decoder()
        if network is None:
            decoder.add_allphone_file("search", str(self._model / "en-us-phone.lm.bin"))
        else:
            decoder.add_fsg("search", decoder.create_fsg("search", *network))
        decoder.activate_search("search")
        decoder.start_utt()
        decoder.process_raw(samples.tobytes(), no_search=False, full_utt=True)
        decoder.end_utt()
        hypothesis = decoder.hyp()
        if hypothesis is None or not hypothesis.hypstr:
            return None
        score = SCORE_SHIFT * math.log(max(hypothesis.score, sys.float_info.min))
        segments = [_Segment(each.word, each.start_frame, each.end_frame + 1) for each in decoder.seg()]
        return _Found(score, tuple(segments))

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


@dataclass(frozen=True, slots=True)
class _Segment:
    """A word, or silence, in frames."""

    word: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class _Found:
    """What one search came back with; `score` in nats."""

    score: float
    segments: tuple[_Segment, ...]

    def heard(self, start_seconds: float) -> list[HeardWord]:
        """The words, without silence, noise and silent steps, on the session clock."""
        return [
            HeardWord(
                text=segment.word.partition("(")[0],
                start_seconds=start_seconds + segment.start / FRAMES_A_SECOND,
                end_seconds=start_seconds + segment.end / FRAMES_A_SECOND,
            )
            for segment in self.segments
            if not _is_silent(segment.word)
        ]

    @property
    def word_frames(self) -> int:
        """Frames that belong to words."""
        return max(1, sum(each.end - each.start for each in self.segments if not _is_silent(each.word)))


def _is_silent(word: str) -> bool:
    return word.startswith(("<", "[", "("))


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


_Arc = tuple[int, int, float] | tuple[int, int, float, str]
_Transitions = tuple[int, int, list[_Arc]]
"""Start, end, and (from, to, probability, word or silent step)."""


def _transitions(network: WordNetwork) -> list[_Arc]:
    return [(at, to, 1.0, word) for at, arcs in enumerate(network.arcs) for word, to in arcs.items()]


def _repeated(network: WordNetwork) -> _Transitions:
    """Start, end and transitions of one sentence of `network` after the other, or none at all."""
    end = len(network.arcs)
    arcs = _transitions(network)
    for state in sorted(network.final):
        arcs += [(state, end, 1.0), (state, network.start, ANOTHER_PHRASE)]
    arcs.append((network.start, end, 1.0))
    return network.start, end, arcs


def _once(sentences: Sequence[tuple[str, ...]]) -> _Transitions:
    """Start, end and transitions of exactly one of `sentences`."""
    network = compile_node(Choice(tuple(Parts(tuple(map(Word, each))) for each in sentences)))
    end = len(network.arcs)
    return (
        network.start,
        end,
        [*_transitions(network), *((state, end, 1.0) for state in sorted(network.final))],
    )
