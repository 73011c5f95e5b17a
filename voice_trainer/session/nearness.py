"""Whose voice is that: the student's, close to the microphone, or a television's across the room?

Theory of operation
-------------------
How loud the student is shows in what was heard clearly; how loud others are in what was no call. Once both are known
and far enough apart, sound below the middle between them, and not much louder than the others, is not taken for the
student's speech. Before anything was heard clearly, the loudest second of speech stands for the student: others that
talk all the time must not keep the first call from being heard. In a room where nobody else has spoken nothing is taken
away: a call said softly is heard there. When the others have been quiet for a while they are forgotten.

How loud the student was in another session, or while enrolling, is not used: a seat further back or a mixer set lower
would put today's student below the middle, where nothing of theirs is heard that could correct it.

Levels are those of blocks of 32 ms, in decibels below full scale. Of speech the louder blocks count: its gaps and soft
consonants say nothing about who it is.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from statistics import median

import numpy as np

from voice_trainer.journal.hearing import Hearing
from voice_trainer.recognition.endpointing import BLOCK_SAMPLES, BLOCK_SECONDS, SAMPLE_RATE
from voice_trainer.recognition.ports import Samples

REMEMBERED = 6
"""How many utterances of each side the levels are taken from (ours)."""

LEAST_APART_DB = 9.0
"""Less than that apart, loudness tells nobody from another (ours)."""

LEAST_APART_UNKNOWN_DB = 12.0
"""The same, while the student is only known as the loudest (ours)."""

LEAST_SECONDS_OF_OTHERS = 1.0
"""A cough or a breath is no other voice (ours)."""

MOST_ABOVE_OTHERS_DB = 9.0
"""What is so much louder than others were may be the student, who speaks more softly than before (ours)."""

SYLLABLE_BLOCKS = 10
"""A soft block belongs to loud ones that were so few blocks before (0.3 s)."""

LOUD_BLOCKS = 3
"""So many of these have to be loud: somebody far away has loud moments too."""

OTHERS_FORGOTTEN_SECONDS = 45.0
"""After so long without other voices every sound may be the student's again (ours)."""

LOUDEST_SECONDS = 0.8
LOUDEST_WITHIN_SECONDS = 60.0
"""The loudest of the speech in the last minute, all together as long as a short call (ours)."""

SILENCE_DBFS = -90.0


class Nearness:
    """Learns how loud the student and others are; one for a stretch of listening."""

    def __init__(self) -> None:
        self._student: deque[float] = deque(maxlen=REMEMBERED)
        self._others: deque[float] = deque(maxlen=REMEMBERED)
        self._lately: deque[float] = deque(maxlen=SYLLABLE_BLOCKS)
        self._speech: deque[float] = deque(maxlen=round(LOUDEST_WITHIN_SECONDS / BLOCK_SECONDS))
        self._blocks_without_others = 0
        self.least_dbfs: float | None = None
        """What is softer than this is somebody else; None while nobody else is known."""

    def near(self, samples: Samples, is_speech: bool) -> bool:
        """Whether a block can be the student's voice; `is_speech`, whether it is anybody's."""
        level = level_dbfs(samples)
        self._lately.append(level)
        if is_speech:
            self._speech.append(level)
            if self._others and not self._student:
                self._find_least()
        if self.least_dbfs is None:
            return True
        is_near = self.is_near(self._lately)
        self._blocks_without_others = 0 if is_speech and not is_near else self._blocks_without_others + 1
        if self._blocks_without_others * BLOCK_SECONDS > OTHERS_FORGOTTEN_SECONDS:
            self._others.clear()
            self._find_least()
        return is_near

    def learn(self, samples: Samples, hearing: Hearing) -> None:
        """What was heard in an utterance: a clear call is the student's, talk that is no call perhaps another's."""
        if hearing.clarity == "clear":
            self._student.append(speech_level_dbfs(samples))
        elif hearing.clarity == "not a call" and len(samples) >= LEAST_SECONDS_OF_OTHERS * SAMPLE_RATE:
            self._others.append(speech_level_dbfs(samples))
            self._blocks_without_others = 0
        self._find_least()

    def last_far_seconds(self, samples: Samples) -> float:
        """How much of an utterance is over with the last of it that was others; 0 where none was."""
        if self.least_dbfs is None:
            return 0.0
        levels = block_levels_dbfs(samples)
        far = [
            index
            for index in range(len(levels))
            if _loudness(levels[max(0, index + 1 - SYLLABLE_BLOCKS) : index + 1]) < self.least_dbfs
        ]
        return (far[-1] + 1) * BLOCK_SECONDS if far else 0.0

    def is_near(self, levels: Iterable[float]) -> bool:
        """Whether enough of a few blocks are loud enough."""
        return self.least_dbfs is None or _loudness(levels) >= self.least_dbfs

    def _find_least(self) -> None:
        self.least_dbfs = None
        if not self._others:
            return
        others = median(self._others)  # one of them may have been the student, cut off
        if self._student:
            student, apart = median(self._student), LEAST_APART_DB
        else:
            count = round(LOUDEST_SECONDS / BLOCK_SECONDS)
            if len(self._speech) < count:
                return
            student, apart = sorted(self._speech)[-count], LEAST_APART_UNKNOWN_DB
        if student - others >= apart:
            self.least_dbfs = min((student + others) / 2, others + MOST_ABOVE_OTHERS_DB)


def _loudness(levels: Iterable[float]) -> float:
    """The level that as many as `LOUD_BLOCKS` of a few blocks have, or all of fewer."""
    loudest = sorted(levels)[-LOUD_BLOCKS:]
    return loudest[0]


def level_dbfs(samples: Samples) -> float:
    """The level of some samples."""
    power = float(np.mean(samples.astype(np.float64) ** 2)) if len(samples) else 0.0
    return _decibels(power)


def block_levels_dbfs(samples: Samples) -> list[float]:
    """The level of each whole block."""
    whole = len(samples) // BLOCK_SAMPLES * BLOCK_SAMPLES
    blocks = samples[:whole].reshape(-1, BLOCK_SAMPLES).astype(np.float64)
    return [_decibels(float(power)) for power in np.mean(blocks**2, axis=1)]


def speech_level_dbfs(samples: Samples) -> float:
    """The level of the louder blocks of an utterance: three in four are softer."""
    levels = block_levels_dbfs(samples)
    return float(np.quantile(levels, 0.75)) if levels else level_dbfs(samples)


def _decibels(power: float) -> float:
    return max(SILENCE_DBFS, 10 * float(np.log10(power / 32768.0**2))) if power else SILENCE_DBFS
