"""Searching a network of words with pocketsphinx: its model, a grammar's dictionary, and one decoder a search.

The decoder's scores count from the best senone of the frame among those in use, so only where all senones are
computed in every frame (`compallsen`) can scores of different searches be compared; that takes five times as long.

Learnt the hard way, and why the decoder is set as it is:

- `bestpath` searches the word lattice again, forgets the grammar there, and takes seconds in noise: off.
- A sentence that was pruned before its end comes back as if it were a result. Whatever comes back must be read
  against the grammar again.
- `hyp().score` is in units of 2^-10 of the decoder's logarithm, `seg().ascore` underflows: the logarithm of
  the first, times 1024, is the score in nats.
- Scores depend on what the decoder heard before (the Gaussians of the last frame are where it starts to
  look): each search has a decoder of its own, 30 ms, and the same sound is heard the same each time.
- One word without a pronunciation makes a whole grammar fail, and `add_word` leaves its words behind: each
  grammar has a dictionary of its own, with nothing else in it.
"""

from __future__ import annotations

import hashlib
import math
import os
import sys
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

from voice_trainer.journal.hearing import HeardWord
from voice_trainer.phraseology.nodes import Choice, Word
from voice_trainer.phraseology.nodes import Sequence as Parts
from voice_trainer.recognition.dictionary import listed
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.ports import Samples
from voice_trainer.recognition.pronunciation import TRADE_PRONUNCIATIONS, check_phones, pronounce
from voice_trainer.recognition.word_network import WordNetwork, compile_node

SAMPLE_RATE = 16_000
FRAMES_A_SECOND = 100
SHORTEST_SAMPLES = SAMPLE_RATE // 10
"""Less sound than this holds no word, and makes the decoder fail."""

SCORE_SHIFT = 1 << 10

WORD_PENALTY = 1e-3
"""What each word costs, as a probability."""

ANOTHER_PHRASE = 1e-10
"""Probability of going on with another phrase after one: keeps noise from being covered with short words."""

Arc = tuple[int, int, float] | tuple[int, int, float, str]
Transitions = tuple[int, int, list[Arc]]
"""Start, end, and (from, to, probability, word or silent step)."""


@dataclass(frozen=True, slots=True)
class Decoding:
    """How to search. `comparable`: scores of different searches may be compared. `word_penalty`: what a word costs,
    as a probability. `beam` and `word_beam`: how much less likely than the best a path may be, inside words and at
    their ends.
    """

    comparable: bool
    word_penalty: float = WORD_PENALTY
    beam: float = 1e-64
    word_beam: float = 1e-40


@dataclass(frozen=True, slots=True)
class Segment:
    """A word, or silence, in frames."""

    word: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Found:
    """What one search came back with; `score` in nats."""

    score: float
    segments: tuple[Segment, ...]

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
    def words(self) -> tuple[str, ...]:
        """The words alone."""
        return tuple(word.text for word in self.heard(0.0))

    @property
    def word_frames(self) -> int:
        """Frames that belong to words."""
        return max(1, sum(each.end - each.start for each in self.segments if not _is_silent(each.word)))


class WordSearch:
    """The model in the pocketsphinx wheel with the dictionary of one grammar."""

    def __init__(self) -> None:
        """Raises RecogniserError where pocketsphinx or its model is missing."""
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
        self.name = f"pocketsphinx {metadata.version('pocketsphinx')}"
        self._dictionary_lines: list[str] = []

    def model_hash(self) -> str:
        """SHA-256 over the acoustic model's files and the dictionary, by name."""
        digest = hashlib.sha256()
        files = [*sorted((self._model / "en-us").iterdir()), self._model / "cmudict-en-us.dict"]
        for file in files:
            digest.update(file.name.encode() + b"\0" + file.read_bytes())
        return digest.hexdigest()

    def prepare(self, words: Iterable[str], given: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
        """Learn the words of a grammar; returns those whose pronunciation is a guess, with the guess.

        Words that the dictionary lacks get the pronunciation in `given`, else one that the trade gives them,
        else a guess. Raises RecogniserError for phones that are none.
        """
        wanted = sorted(words)
        known = listed(frozenset(wanted), self._model / "cmudict-en-us.dict")
        ways = {word: _pronounced(word, given, known.get(word, ())) for word in wanted}
        self._dictionary_lines = [
            f"{word} {phones}" if number == 0 else f"{word}({number + 1}) {phones}"
            for word, (every, _) in ways.items()
            for number, phones in enumerate(every)
        ]
        return tuple((word, phones[0]) for word, (phones, guessed) in ways.items() if guessed)

    def best(self, samples: Samples, network: Transitions | None, decoding: Decoding) -> Found | None:
        """The best path through `network`, through any phones where it is None; None for no words at all."""
        if len(samples) < SHORTEST_SAMPLES:
            return None
        decoder = self._new_decoder(decoding)
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
        segments = [Segment(each.word, each.start_frame, each.end_frame + 1) for each in decoder.seg()]
        return Found(score, tuple(segments))

    def _new_decoder(self, decoding: Decoding) -> Any:
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
                compallsen=decoding.comparable,
                bestpath=False,
                lw=1.0,
                wip=decoding.word_penalty,
                beam=decoding.beam,
                pbeam=decoding.beam,
                wbeam=decoding.word_beam,
            )


def _pronounced(word: str, given: Mapping[str, str], listed: Sequence[str]) -> tuple[list[str], bool]:
    """Every way to say `word`, and whether they are a guess."""
    if word in given:
        return [check_phones(word, given[word])], False
    ways = [*listed, *TRADE_PRONUNCIATIONS.get(word, ())]
    return (list(dict.fromkeys(ways)), False) if ways else ([pronounce(word)], True)


def _is_silent(word: str) -> bool:
    return word.startswith(("<", "[", "("))


def _transitions(network: WordNetwork) -> list[Arc]:
    return [(at, to, 1.0, word) for at, arcs in enumerate(network.arcs) for word, to in arcs.items()]


def repeated(network: WordNetwork) -> Transitions:
    """Start, end and transitions of one sentence of `network` after the other, or none at all."""
    end = len(network.arcs)
    arcs = _transitions(network)
    for state in sorted(network.final):
        arcs += [(state, end, 1.0), (state, network.start, ANOTHER_PHRASE)]
    arcs.append((network.start, end, 1.0))
    return network.start, end, arcs


def one_of(sentences: Sequence[tuple[str, ...]]) -> Transitions:
    """Start, end and transitions of exactly one of `sentences`."""
    network = compile_node(Choice(tuple(Parts(tuple(map(Word, each))) for each in sentences)))
    end = len(network.arcs)
    return (
        network.start,
        end,
        [*_transitions(network), *((state, end, 1.0) for state in sorted(network.final))],
    )
