"""When each word of a known sentence was said: forced alignment with pocketsphinx.

An oracle for the times that the recognisers give. Whole utterance in one call, because cepstral
normalisation over all of it is what makes it good in noise.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from functools import cache

from pocketsphinx import Decoder

from voice_trainer.recognition.ports import Samples
from voice_trainer.recognition.pronunciation import check_phones, pronunciations
from voice_trainer.recognition.word_times import TimedWord, dithered, spread

SAMPLE_RATE = 16_000
FRAME_SECONDS = 0.01

_NINER = "N AY N ER"


class Aligner:
    """One pocketsphinx decoder without a language model; the dictionary grows as words are asked for."""

    def __init__(self) -> None:
        self._decoder = Decoder(samprate=SAMPLE_RATE, lm=None, loglevel="FATAL")
        # What is read as 'nine' was mostly said 'niner'.
        self._decoder.add_word("nine(2)", _NINER, True)
        self._lock = threading.Lock()

    def knows(self, word: str) -> bool:
        """Whether the dictionary holds `word`."""
        return self._decoder.lookup_word(word) is not None

    def phones(self, word: str) -> str:
        """The phones of a word, guessed where the dictionary lacks it."""
        known = self._decoder.lookup_word(word)
        return str(known) if known is not None else guessed_pronunciation(word)

    def add(self, word: str, phones: str) -> None:
        """Teach the dictionary a word, unless it is known; raises RecogniserError for phones that are none."""
        if not self.knows(word):
            self._decoder.add_word(word, check_phones(word, phones), True)

    def align(
        self, samples: Samples, words: Sequence[str], pronunciations: Mapping[str, str]
    ) -> list[TimedWord]:
        """Where each word lies in mono PCM at 16 kHz; `pronunciations` gives ARPAbet for words of its own.

        Words that pocketsphinx can't place (the sentence isn't what was said, or there is too little sound) are
        spread over the samples by their length instead, so there always is one time a word, in order.
        """
        if not words:
            return []
        with self._lock:
            for word in words:
                if not self.knows(word):
                    self.add(word, pronunciations.get(word) or guessed_pronunciation(word))
            segments = self._segments(samples, words)
        if [text for text, _, _ in segments] != list(words):
            return spread(words, 0.0, len(samples) / SAMPLE_RATE)
        return segments

    def _segments(self, samples: Samples, words: Sequence[str]) -> list[TimedWord]:
        try:
            self._decoder.set_align_text(" ".join(words))
            self._decoder.start_utt()
            self._decoder.process_raw(dithered(samples).tobytes(), full_utt=True)
            self._decoder.end_utt()
        except RuntimeError:
            # It gives no reason, and there is none that could not be met with the fallback of `align`.
            return []
        found: list[TimedWord] = []
        for segment in self._decoder.seg() or ():
            text = str(segment.word).split("(")[0]
            if not text.startswith("<") and text:
                end = (segment.end_frame + 1) * FRAME_SECONDS
                found.append((text, segment.start_frame * FRAME_SECONDS, end))
        return found


def guessed_pronunciation(word: str) -> str:
    """The usual phones of a word that no dictionary has."""
    return pronunciations(word)[0]


@cache
def shared_aligner() -> Aligner:
    """The aligner of this process: its acoustic model is loaded once."""
    return Aligner()


def align(samples: Samples, words: Sequence[str], pronunciations: Mapping[str, str]) -> list[TimedWord]:
    """`Aligner.align` of the shared aligner."""
    return shared_aligner().align(samples, words, pronunciations)
