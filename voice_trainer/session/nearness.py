"""Whose voice is that: the student's, close to the microphone, or a television's across the room?

Theory of operation
-------------------
How loud the student is shows in what was heard clearly; how loud others are in what was no call. Once both are known
and far enough apart, sound below the middle between them is not taken for the student's speech. In a room where nobody
else has spoken nothing is taken away: a call said softly is heard there. When the others have been quiet for a while
they are forgotten.

Levels are those of blocks of 32 ms, in decibels below full scale. Of speech the louder blocks count: its gaps and soft
consonants say nothing about who it is.
"""

from __future__ import annotations

from collections import deque
from statistics import median

import numpy as np

from voice_trainer.journal.hearing import Hearing
from voice_trainer.recognition.endpointing import BLOCK_SAMPLES, BLOCK_SECONDS, SAMPLE_RATE
from voice_trainer.recognition.ports import Samples

REMEMBERED = 6
"""How many utterances of each side the levels are taken from (ours)."""

LEAST_APART_DB = 9.0
"""Less than that apart, loudness tells nobody from another (ours)."""

LEAST_SECONDS_OF_OTHERS = 1.0
"""A cough or a breath is no other voice (ours)."""

SYLLABLE_BLOCKS = 10
"""A soft block belongs to a loud one that was so few blocks before (0.3 s)."""

OTHERS_FORGOTTEN_SECONDS = 45.0
"""After so long without other voices every sound may be the student's again (ours)."""

SILENCE_DBFS = -90.0


class Nearness:
    """Learns how loud the student and others are; one for a stretch of listening."""

    def __init__(self) -> None:
        self._student: deque[float] = deque(maxlen=REMEMBERED)
        self._others: deque[float] = deque(maxlen=REMEMBERED)
        self._lately: deque[float] = deque(maxlen=SYLLABLE_BLOCKS)
        self._blocks_without_others = 0

    @property
    def least_dbfs(self) -> float | None:
        """What is softer than this is somebody else; None while nobody else is known."""
        if not self._student or not self._others:
            return None
        student, others = median(self._student), max(self._others)
        return (student + others) / 2 if student - others >= LEAST_APART_DB else None

    def near(self, samples: Samples, is_speech: bool) -> bool:
        """Whether a block can be the student's voice; `is_speech`, whether it is anybody's."""
        self._lately.append(level_dbfs(samples))
        least = self.least_dbfs
        if least is None:
            return True
        is_near = max(self._lately) >= least
        self._blocks_without_others = 0 if is_speech and not is_near else self._blocks_without_others + 1
        if self._blocks_without_others * BLOCK_SECONDS > OTHERS_FORGOTTEN_SECONDS:
            self._others.clear()
        return is_near

    def learn(self, samples: Samples, hearing: Hearing) -> None:
        """What was heard in an utterance: a clear call is the student's, talk that is no call perhaps another's."""
        if hearing.clarity == "clear":
            self._student.append(speech_level_dbfs(samples))
        elif hearing.clarity == "not a call" and len(samples) >= LEAST_SECONDS_OF_OTHERS * SAMPLE_RATE:
            self._others.append(speech_level_dbfs(samples))
            self._blocks_without_others = 0


def level_dbfs(samples: Samples) -> float:
    """The level of some samples."""
    power = float(np.mean(samples.astype(np.float64) ** 2)) if len(samples) else 0.0
    return max(SILENCE_DBFS, 10 * np.log10(power / 32768.0**2)) if power else SILENCE_DBFS


def speech_level_dbfs(samples: Samples) -> float:
    """The level of the louder blocks of an utterance: three in four are softer."""
    whole = len(samples) // BLOCK_SAMPLES * BLOCK_SAMPLES
    if not whole:
        return level_dbfs(samples)
    blocks = samples[:whole].reshape(-1, BLOCK_SAMPLES).astype(np.float64)
    power = np.mean(blocks**2, axis=1)
    loud = float(np.quantile(power, 0.75))
    return max(SILENCE_DBFS, 10 * float(np.log10(loud / 32768.0**2))) if loud else SILENCE_DBFS
