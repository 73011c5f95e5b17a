"""What a session needs of a speech recogniser."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

from voice_trainer.journal.hearing import Hearing
from voice_trainer.phraseology.grammar import Grammar

Samples = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Readiness:
    """What came of `Recogniser.prepare`: words that this engine cannot hear as it should.

    `missing_words` can't be heard at all; `guessed_words` maps words that the engine's dictionary lacks to the
    pronunciation that was made up for them.
    """

    missing_words: tuple[str, ...] = ()
    guessed_words: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class SpelledWord:
    """A word that was spoken alone, what an engine wrote for each speaker, and how far the word is behind that.

    `is_hard`: calls with this word will be asked for again more often than others.
    """

    word: str
    written: tuple[str, ...]
    behind_nats: float
    is_hard: bool


@runtime_checkable
class Speller(Protocol):
    """An engine that spells words, and may spell a made-up name badly."""

    def spelled_word(self, word: str, clips: Sequence[Samples]) -> SpelledWord:
        """How it spells a word, spoken alone by several voices (mono PCM at 16 kHz)."""


class Recogniser(Protocol):
    """Audio to hearings, against the whole of a drill's phraseology."""

    name: str
    """The engine and its version, as it goes into the journal."""

    model_hash: str
    """SHA-256 of the model's files, so that a journal says what heard it."""

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        """Make ready to hear `grammar`; `pronounce` gives ARPAbet for words that a dictionary may lack.

        Raises RecogniserError when the engine can't hear this grammar at all.
        """

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        """What is said in one utterance: mono PCM at 16 kHz that begins at session time `start_seconds`."""
