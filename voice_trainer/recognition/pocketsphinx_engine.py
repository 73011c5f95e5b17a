"""Hearing with pocketsphinx: the engine that is always there, its English model inside the wheel.

An utterance is decoded when it is over, in one piece, so that the cepstral mean is taken over all of it: in
noise that is much better than a running mean. It is decoded twice:

1. Against everything the grammar can say, over and over (several calls in a breath), every value open.
2. Against the rivals of what was found (`recognition.rivals`), and nothing else. How far the best rival of
   different meaning stays behind is the margin.

All senones are computed in every frame (`compallsen`): the decoder's scores count from the best senone of the
frame, so only then are scores of different searches comparable. It also makes the score of a word per frame a
measure of how far it is from the freest speech that the model knows: the gap.

Learnt the hard way, and why the decoder is set as it is:

- `bestpath` searches the word lattice again, forgets the grammar there, and takes seconds in noise: off.
- A sentence that was pruned before its end comes back as if it were a result. Whatever comes back is read
  against the grammar again, and what the grammar does not have is nobody's.
- `hyp().score` is in units of 2^-10 of the decoder's logarithm, `seg().ascore` underflows: the logarithm of
  the first, times 1024, is the score in nats.
- One word without a pronunciation makes a whole grammar fail: every word is looked up first.
"""

from __future__ import annotations

import hashlib
import math
import os
import sys
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from importlib import metadata
from pathlib import Path
from typing import Any

from voice_trainer.journal.hearing import Clarity, HeardWord, Hearing, Interpretation, Span
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.nodes import Choice, Word
from voice_trainer.phraseology.nodes import Sequence as Parts
from voice_trainer.recognition.denoising import denoised
from voice_trainer.recognition.ports import Readiness, RecogniserError, Samples
from voice_trainer.recognition.pronunciation import TRADE_PRONUNCIATIONS, check_phones, pronounce
from voice_trainer.recognition.reading import read_words
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


@dataclass(frozen=True, slots=True)
class PocketsphinxThresholds:
    """What is believed. All in nats of this engine's own scores.

    `clear_margin`: how far the best rival must stay behind. `clear_gap`: how far, per frame of 10 ms, the
    words may be from the freest speech; `call_gap`: from there on it is nobody's call at all.
    """

    clear_margin: float = 40.0
    clear_gap: float = 3.6
    call_gap: float = 5.0


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
        self._decoder: Any = None

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
        # A new decoder with a dictionary of its own each time: what is added to one never goes away again.
        decoder = self._new_decoder((word, phones) for word, (phones, _) in ways.items())
        decoder.add_allphone_file("phones", str(self._model / "en-us-phone.lm.bin"))
        decoder.add_fsg("phrases", decoder.create_fsg("phrases", *_repeated(network)))
        self._grammar, self._network, self._decoder = grammar, network, decoder
        return Readiness(
            guessed_words=tuple((word, phones[0]) for word, (phones, guessed) in ways.items() if guessed)
        )

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        """What is said in one utterance; see `Recogniser.hear`. Raises RecogniserError before `prepare`."""
        if self._grammar is None or self._network is None:
            raise RecogniserError("the recogniser has not been given a grammar yet: call prepare first")
        end_seconds = start_seconds + len(samples) / SAMPLE_RATE
        samples = denoised(samples)
        found = self._search("phrases", samples) if len(samples) >= SHORTEST_SAMPLES else None
        if found is None:
            return Hearing(
                start_seconds=start_seconds, end_seconds=end_seconds, clarity="not a call", engine=self.name
            )
        words = found.heard(start_seconds)
        readings = read_words(words, self._grammar, found.score)
        free = self._search("phones", samples)
        gap = None if free is None else (free.score - found.score) / found.word_frames
        rivals = self._rivals(readings[0], self._grammar, self._network)
        margin: float | None = None
        if rivals:
            self._decoder.activate_search("phrases")
            self._decoder.add_fsg("rivals", self._decoder.create_fsg("rivals", *_once(rivals)))
            best_rival = self._search("rivals", samples)
            if best_rival is not None:
                repeats = sum(span.kind != "other" for span in readings[0].spans) - 1
                alone = found.score - max(0, repeats) * math.log(ANOTHER_PHRASE)
                margin = alone - best_rival.score
                rival_words = best_rival.heard(start_seconds)
                readings = (*readings, *read_words(rival_words, self._grammar, best_rival.score))
        return Hearing(
            start_seconds=start_seconds,
            end_seconds=end_seconds,
            interpretations=readings,
            margin=margin,
            gap=gap,
            clarity=self._clarity(readings[0], margin, gap),
            engine=self.name,
        )

    def _clarity(self, best: Interpretation, margin: float | None, gap: float | None) -> Clarity:
        if gap is None or gap >= self.thresholds.call_gap or all(span.kind == "other" for span in best.spans):
            return "not a call"
        sure = margin is not None and margin >= self.thresholds.clear_margin
        whole = all(span.kind != "other" for span in best.spans)
        return "clear" if sure and whole and gap < self.thresholds.clear_gap else "unclear"

    def _new_decoder(self, words: Iterable[tuple[str, list[str]]]) -> Any:
        dictionary = [
            f"{word} {phones}" if number == 0 else f"{word}({number + 1}) {phones}"
            for word, ways in words
            for number, phones in enumerate(ways)
        ]
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "words.dict"
            file.write_text("\n".join(dictionary) + "\n", encoding="utf-8")
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

    def _search(self, name: str, samples: Samples) -> _Found | None:
        decoder = self._decoder
        decoder.activate_search(name)
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


Arc = tuple[int, int, float] | tuple[int, int, float, str]


def _transitions(network: WordNetwork) -> list[Arc]:
    return [(at, to, 1.0, word) for at, arcs in enumerate(network.arcs) for word, to in arcs.items()]


def _repeated(network: WordNetwork) -> tuple[int, int, list[Arc]]:
    """Start, end and transitions of one sentence of `network` after the other, or none at all."""
    end = len(network.arcs)
    arcs = _transitions(network)
    for state in sorted(network.final):
        arcs += [(state, end, 1.0), (state, network.start, ANOTHER_PHRASE)]
    arcs.append((network.start, end, 1.0))
    return network.start, end, arcs


def _once(sentences: Sequence[tuple[str, ...]]) -> tuple[int, int, list[Arc]]:
    """Start, end and transitions of exactly one of `sentences`."""
    network = compile_node(Choice(tuple(Parts(tuple(map(Word, each))) for each in sentences)))
    end = len(network.arcs)
    return (
        network.start,
        end,
        [*_transitions(network), *((state, end, 1.0) for state in sorted(network.final))],
    )
