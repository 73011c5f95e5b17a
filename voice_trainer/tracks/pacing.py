"""How long a gap has to be, for somebody who answers at a set pace."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voice_trainer.drills.length import STUDENT_WORDS_PER_MINUTE, TRAINER_WORDS_PER_MINUTE

REACTION_SECONDS = 1.5
"""From the end of the cue to the first word. The synthetic student takes 0.7 s (`session/performance.py`); a person
who has to remember takes longer (ours)."""

BETWEEN_CALLS_SECONDS = 0.8
"""A breath between two calls of one flow (ours)."""

SLOWEST_WORDS_PER_MINUTE, FASTEST_WORDS_PER_MINUTE = 40, 300
SLOWEST_FACTOR, FASTEST_FACTOR = 0.25, 3.0


@dataclass(frozen=True, slots=True)
class Answer:
    """One right call, spoken: how many words, and how many seconds they take in the voice of the track."""

    words: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast the student speaks: `words_per_minute`, or `factor` times as fast as the voice of the answers."""

    words_per_minute: float | None = STUDENT_WORDS_PER_MINUTE
    factor: float = 1.0

    def seconds_for(self, answer: Answer) -> float:
        """How long a student of this pace takes to say an answer.

        By words a minute it is never less than the voice needs at that rate: digits are short words, and a heading
        would get no more time than three small ones.
        """
        if self.words_per_minute is None:
            return answer.seconds / self.factor
        by_count = answer.words * 60 / self.words_per_minute
        return max(by_count, answer.seconds * TRAINER_WORDS_PER_MINUTE / self.words_per_minute)


def gap_seconds(answers: Sequence[Answer], pace: Pace) -> float:
    """How long to be silent for all calls of a flow: a reaction, the calls, and a breath between each two."""
    between = BETWEEN_CALLS_SECONDS * max(0, len(answers) - 1)
    return REACTION_SECONDS + sum(pace.seconds_for(each) for each in answers) + between


def pace_of(text: str) -> Pace:
    """The pace that somebody means by '120' (words a minute) or '0.8' (of the voice's). Raises ValueError."""
    number = float(text)
    if SLOWEST_FACTOR <= number <= FASTEST_FACTOR:
        return Pace(None, number)
    if SLOWEST_WORDS_PER_MINUTE <= number <= FASTEST_WORDS_PER_MINUTE:
        return Pace(number)
    raise ValueError(f"{text} is no pace")
