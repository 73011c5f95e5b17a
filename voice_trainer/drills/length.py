"""How long what is said takes: seconds of speech, counted by words."""

from __future__ import annotations

from collections.abc import Sequence

from voice_trainer.drills.model import Drill, Flow, Step

STUDENT_WORDS_PER_MINUTE = 100.0
"""A radio operator's even rate of speech is no higher: ICAO Annex 10 Volume II, 5.2.1.5.3 b (from memory)."""

TRAINER_WORDS_PER_MINUTE = 160.0
"""The rate of the trainer's voices (`voices/casting.py`)."""

LONGEST_CALL_SECONDS = 24.0
"""What takes longer to say can't be relied upon to be heard as one call: an utterance ends after 30 s
(`recognition/endpointing.py`), and of much more words the recogniser made no call from 24 s on (measured, ours).
"""

LEAST_REACTION_SECONDS = 1.0
"""From the end of a cue to the first word, for who knows the answer (common practice)."""


def words_seconds(words: Sequence[str], words_per_minute: float) -> float:
    """How long so many words take."""
    return 60 * len(words) / words_per_minute


def cue_seconds(drill: Drill, step: Step) -> float:
    """How long the trainer speaks a step's cue. Raises PatternError."""
    if step.cue is None:
        return 0.0
    return words_seconds(drill.spoken(step.cue).split(), TRAINER_WORDS_PER_MINUTE)


def flow_seconds(drill: Drill, flow: Flow) -> float:
    """How long the required calls of a flow take, without the pauses between them. Raises PatternError."""
    calls = [drill.pattern(call).brief() for call in flow.calls if call.need == "required"]
    return sum(words_seconds(words, STUDENT_WORDS_PER_MINUTE) for words in calls)


def spoken_seconds(drill: Drill) -> float:
    """How long a drill takes in which nothing flies, every call begun at once. Raises PatternError."""
    preamble = (drill.preamble or "").split()
    seconds = words_seconds(preamble, TRAINER_WORDS_PER_MINUTE)
    for step in drill.steps:
        seconds += step.after_seconds + cue_seconds(drill, step)
        if step.flow is not None:
            required = sum(call.need == "required" for call in step.flow.calls)
            seconds += flow_seconds(drill, step.flow) + required * LEAST_REACTION_SECONDS
    return seconds
