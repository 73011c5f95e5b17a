"""A second opinion on what was said, by an acoustic model that knows nothing of the first.

Two different recognisers rarely make the same mistake. The neural model now and then prefers 'eight hundred' to a
clearly spoken 'niner hundred'; pocketsphinx, asked which of these few sentences fits the sound best, does not. It
is asked about the best sentence and its nearest rivals, all in one search; what the drill expects plays no part.

The two are added up, the second with a small weight: its frames count as independent, so it is far too sure of
itself. In the graph of sentences each rival is given a lead, so large that it wins the search exactly when both
models together don't prefer the best sentence by as much as they must.

The same search says how well the best sentence covers the sound. 'Unable' may be the likeliest sentence of the
domain for four words that nobody listened for; to an acoustic model most of the sound is then unexplained.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from pocketsphinx import Decoder

from voice_trainer.recognition.alignment import FRAME_SECONDS, TimedWord, dithered
from voice_trainer.recognition.ports import Samples

SAMPLE_RATE = 16_000
SHORTEST_SAMPLES = SAMPLE_RATE // 10
"""Less sound than this holds no word."""

WEIGHT = 0.05
"""What a nat of the second model counts for, in nats of the first."""

TOGETHER_NATS = 4.0
"""By how much both together must prefer the best sentence to each rival."""

SPELLINGS_OF_NINE = ("N AY N", "N AY N ER")
"""What is read as 'nine' was mostly said 'niner'."""

SCORE_SHIFT = 1 << 10
"""pocketsphinx gives scores as exp(nats / 1024)."""

MOST_LEAD_NATS = 300.0
"""No rival needs a larger handicap than this, and its probability must stay a number."""

Phones = Callable[[str], str]
"""The phones of a word, separated by blanks."""


@dataclass(frozen=True, slots=True)
class Opinion:
    """What the second model says of the best sentence.

    `agrees`: with it, both together prefer the best sentence by enough. `fit` is the log-likelihood of all of the
    sound, in nats a frame of words: about -2.5 where the sentence is what was said, -20 where it is not; minus
    infinity where it doesn't fit at all. `timed` are its words, none where it does not agree.
    """

    agrees: bool
    fit: float
    timed: tuple[TimedWord, ...]


NO_FIT = Opinion(False, -math.inf, ())


def second_opinion(
    samples: Samples, sentences: Sequence[tuple[str, ...]], behind: Sequence[float], phones: Phones
) -> Opinion:
    """Whether mono PCM at 16 kHz is the first of `sentences`, each of which is so many nats behind it.

    A decoder of its own every time: what one has heard before would colour what it hears next.
    """
    if len(samples) < SHORTEST_SAMPLES:
        return NO_FIT
    decoder = Decoder(
        samprate=SAMPLE_RATE, lm=None, dict=None, loglevel="FATAL", bestpath=False, lw=1.0, wip=1.0, pip=1.0,
        beam=1e-80, pbeam=1e-80, wbeam=1e-60,
    )  # fmt: skip
    words = dict.fromkeys(word for sentence in sentences for word in sentence)
    for word in words:
        spellings = SPELLINGS_OF_NINE if word == "nine" else (phones(word),)
        for number, spelling in enumerate(spellings, start=1):
            decoder.add_word(word if number == 1 else f"{word}({number})", spelling, False)
    leads = [0.0, *((TOGETHER_NATS - nats) / WEIGHT for nats in behind[1:])]
    leads = [max(-MOST_LEAD_NATS, min(MOST_LEAD_NATS, lead)) for lead in leads]
    graph, last = _one_of(sentences, [lead - max(leads) for lead in leads])
    decoder.add_fsg("rivals", decoder.create_fsg("rivals", 0, last, graph))
    decoder.activate_search("rivals")
    decoder.start_utt()
    decoder.process_raw(dithered(samples).tobytes(), full_utt=True)
    decoder.end_utt()
    found = decoder.hyp()
    if not found:
        return NO_FIT
    said = [each for each in decoder.seg() or () if _word(each)]
    if tuple(map(_word, said)) != tuple(sentences[0]):
        return NO_FIT
    frames = sum(each.end_frame + 1 - each.start_frame for each in said)
    nats = SCORE_SHIFT * math.log(max(found.score, sys.float_info.min)) + max(leads)
    timed = tuple(
        (_word(each), each.start_frame * FRAME_SECONDS, (each.end_frame + 1) * FRAME_SECONDS) for each in said
    )
    return Opinion(True, nats / max(1, frames), timed)


def _word(segment: Any) -> str:
    """The word of a segment, '' for silence, noise and steps without a word."""
    text = str(segment.word)
    return "" if text[:1] in "<[(" else text.split("(", maxsplit=1)[0]


def _one_of(
    sentences: Sequence[tuple[str, ...]], log_probabilities: Sequence[float]
) -> tuple[list[tuple[Any, ...]], int]:
    """The arcs of a graph with one way through it for every sentence, and its last state."""
    arcs: list[tuple[Any, ...]] = []
    ends: list[tuple[int, float]] = []
    state = 0
    for sentence, log_probability in zip(sentences, log_probabilities, strict=True):
        here = 0
        for word in sentence:
            state += 1
            arcs.append((here, state, 1.0, word))
            here = state
        ends.append((here, math.exp(log_probability)))
    last = state + 1
    arcs += [(end, last, probability) for end, probability in ends]
    return arcs, last
