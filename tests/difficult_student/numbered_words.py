"""Speech without sound: every sample of a word is the word's running number, and quiet is 0.

The endpointer, the ears and their cuts are the real ones; which words lie in a piece of sound, and when, is read off
the numbers. A word of which less than half is there has been cut off, and is not heard.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from voice_trainer.audio.ports import BLOCK_SAMPLES, SAMPLE_RATE_HZ, Samples
from voice_trainer.journal.hearing import Clarity, HeardWord, Hearing, Interpretation, Span
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.ports import Readiness
from voice_trainer.recognition.reading import read_words, said_once
from voice_trainer.session.nearness import Nearness

BLOCK_SECONDS = BLOCK_SAMPLES / SAMPLE_RATE_HZ
ENGINE = "numbered words"


def blocks_of(word: str, speed: float) -> int:
    """How many blocks a word takes."""
    seconds = (0.12 + 0.05 * len(word)) / speed
    return max(3, round(seconds / BLOCK_SECONDS))


class WordTrack:
    """What is being said, block by block; `words` are all that was said so far, number 1 the first."""

    def __init__(self, speed: float) -> None:
        self._speed = speed
        self.words: list[str] = [""]
        self.last_of_run: list[int] = [0]
        """Of each word, the number of the last word that is said in one go with it."""
        self._ahead: list[int] = []

    def seconds_of(self, text: str) -> float:
        return sum(blocks_of(word, self._speed) for word in text.split()) * BLOCK_SECONDS

    def say(self, text: str) -> None:
        """From the next block on."""
        words = text.split()
        last = len(self.words) + len(words) - 1
        for word in words:
            self._ahead += [len(self.words)] * blocks_of(word, self._speed)
            self.words.append(word)
            self.last_of_run.append(last)

    @property
    def quiet(self) -> bool:
        return not self._ahead

    def next_block(self) -> int:
        """The number of the word of the next block; 0 for quiet."""
        return self._ahead.pop(0) if self._ahead else 0

    def length_of(self, number: int) -> int:
        """How many samples a word has."""
        return blocks_of(self.words[number], self._speed) * BLOCK_SAMPLES


class KnownActivity:
    """Tells speech from quiet by the numbers; for `Ears`."""

    def feed(self, samples: Samples) -> Iterator[tuple[Samples, float]]:
        for block in samples.reshape(-1, BLOCK_SAMPLES):
            yield block, float(block[0] != 0)

    def reset(self) -> None:
        """It has no memory."""


class EverybodyIsNear(Nearness):
    """Numbers say nothing about loudness; for `Ears`."""

    def near(self, samples: Samples, is_speech: bool) -> bool:
        return True


class NumberedRecogniser:
    """Hears what the numbers say."""

    name = ENGINE
    model_hash = ""

    def __init__(self, track: WordTrack, grammar: Grammar) -> None:
        self._track, self._grammar = track, grammar
        self.hearings = 0

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        return Readiness()

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        self.hearings += 1
        changes = [0, *(np.flatnonzero(np.diff(samples)) + 1).tolist(), len(samples)]
        words = [
            HeardWord(
                text=self._track.words[number],
                start_seconds=start_seconds + begin / SAMPLE_RATE_HZ,
                end_seconds=start_seconds + end / SAMPLE_RATE_HZ,
            )
            for begin, end in pairwise(changes)
            if (number := int(samples[begin])) and 2 * (end - begin) >= self._track.length_of(number)
        ]
        return hearing_of(words, self._grammar, start_seconds, start_seconds + len(samples) / SAMPLE_RATE_HZ)


def hearing_of(
    words: Sequence[HeardWord], grammar: Grammar, start_seconds: float, end_seconds: float
) -> Hearing:
    """What words are heard as.

    As unsure as the real engines are: a beginning of a call, and a call in one breath with words that are nobody's,
    are unclear.
    """
    readings = read_words(words, grammar)
    return Hearing(
        start_seconds=start_seconds,
        end_seconds=end_seconds,
        interpretations=readings,
        clarity=_clarity(words, readings, grammar),
        engine=ENGINE,
    )


def _clarity(words: Sequence[HeardWord], readings: tuple[Interpretation, ...], grammar: Grammar) -> Clarity:
    if not readings:
        return "not a call"
    spans = readings[0].spans
    others = [i for i, span in enumerate(spans) if span.kind == "other" and not _is_said_twice(spans, i)]
    if not others:
        return "clear"
    said = [word.text for s in spans for word in s.words]
    if len(others) < len(spans) or any(grammar.is_beginning(each) for each in (said, said_once(said))):
        return "unclear"
    return "not a call"


def _is_said_twice(spans: tuple[Span, ...], index: int) -> bool:
    """Whether words are only those that the call beside them begins or ends with: 'squawk, squawk seven ...'."""
    words = spans[index].text.split()
    after = spans[index + 1].text.split() if index + 1 < len(spans) else []
    before = spans[index - 1].text.split() if index else []
    return after[: len(words)] == words or before[-len(words) :] == words
