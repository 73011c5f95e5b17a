"""A second opinion on what was said, by an acoustic model that knows nothing of the first.

Two different recognisers rarely make the same mistake. The neural model now and then prefers 'eight hundred' to a
clearly spoken 'niner hundred'; pocketsphinx, asked which of these few sentences fits the sound best, does not. It
is asked only about the best sentence and its nearest rivals, all in one search, without any preference among
them: what the drill expects plays no part.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from pocketsphinx import Decoder

from voice_trainer.recognition.ports import Samples

SAMPLE_RATE = 16_000

SPELLINGS_OF_NINE = ("N AY N", "N AY N ER")
"""What is read as 'nine' was mostly said 'niner'."""

Phones = Callable[[str], str]
"""The phones of a word, separated by blanks."""


def preferred(samples: Samples, sentences: Sequence[tuple[str, ...]], phones: Phones) -> int | None:
    """Which of `sentences` fits mono PCM at 16 kHz best: its index, None where none can be fitted at all.

    A decoder of its own every time: what one has heard before would colour what it hears next.
    """
    decoder = Decoder(
        samprate=SAMPLE_RATE, lm=None, dict=None, loglevel="FATAL", bestpath=False, lw=1.0, wip=1.0, pip=1.0,
        beam=1e-80, pbeam=1e-80, wbeam=1e-60,
    )  # fmt: skip
    words = dict.fromkeys(word for sentence in sentences for word in sentence)
    for word in words:
        spellings = SPELLINGS_OF_NINE if word == "nine" else (phones(word),)
        for number, spelling in enumerate(spellings, start=1):
            # The last addition makes the decoder take them all in.
            decoder.add_word(word if number == 1 else f"{word}({number})", spelling, False)
    graph, last = _one_of(sentences)
    decoder.add_fsg("rivals", decoder.create_fsg("rivals", 0, last, graph))
    decoder.activate_search("rivals")
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), full_utt=True)
    decoder.end_utt()
    said = decoder.hyp()
    found = tuple(_word(segment) for segment in decoder.seg() or () if _word(segment)) if said else ()
    return sentences.index(found) if found in sentences else None


def _word(segment: Any) -> str:
    text = str(segment.word).split("(")[0]
    return "" if text.startswith("<") else text


def _one_of(sentences: Sequence[tuple[str, ...]]) -> tuple[list[tuple[Any, ...]], int]:
    """The arcs of a graph with one way through it for every sentence, and its last state."""
    arcs: list[tuple[Any, ...]] = []
    ends: list[int] = []
    state = 0
    for sentence in sentences:
        here = 0
        for word in sentence:
            state += 1
            arcs.append((here, state, 1.0, word))
            here = state
        ends.append(here)
    last = state + 1
    arcs += [(end, last, 1.0) for end in ends]
    return arcs, last
