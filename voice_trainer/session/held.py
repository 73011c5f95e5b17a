"""What was said and may go on: kept for the thinking pause, so that its rest is heard together with it."""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.journal.hearing import Hearing
from voice_trainer.recognition.endpointing import SAMPLE_RATE, Utterance

SHORT_SECONDS = 1.0
"""What is no longer than this is an 'uh', or one word of a call that has just begun (ours)."""

LEAST_COVERED = 0.3
"""So much of some speech its words cover, where it was understood (ours)."""


@dataclass(slots=True)
class Held:
    """An utterance that may go on until `until_seconds`. `told`: its hearing is known to the session already, which was
    right as it is; `grown`: that of a shorter part of it was. `dropped`: it was too short to be speech, and has not
    been heard; all that is known is how it might be understood with what follows.
    """

    utterance: Utterance
    hearing: Hearing
    until_seconds: float
    told: bool
    grown: bool = False
    dropped: bool = False

    @property
    def has_hearing_told(self) -> bool:
        """Whether what is heard of it together with what follows takes the place of a hearing."""
        return (self.told and not self.dropped) or self.grown

    def middle_of_the_pause(self, both: Utterance) -> float:
        """The middle of the pause behind it, in `both`: it and what followed, joined.

        Words are placed to a tenth of a second or so: that is safely between them.
        """
        rest_began = both.placed(len(self.utterance.samples) / SAMPLE_RATE)
        return (self.utterance.speech_end_seconds + rest_began) / 2

    def is_only_a_hesitation(self, part: Utterance, hearing: Hearing) -> bool:
        """Whether what was said since is no call, and short: thinking goes on."""
        return hearing.clarity == "not a call" and is_short(part)


def is_short(part: Utterance) -> bool:
    """Whether it may be one word, or none."""
    return part.speech_seconds <= SHORT_SECONDS


def is_all_clear(hearing: Hearing) -> bool:
    """Whether every word of it belongs to a phrase, beyond doubt."""
    spans = hearing.best.spans if hearing.best and hearing.clarity == "clear" else ()
    return bool(spans) and all(span.kind != "other" for span in spans)


def is_passed_over(part: Utterance, first: Hearing, second: Hearing, together: Hearing) -> bool:
    """Whether `part`, the second of two and unclear by itself, adds nothing to the clear first in a hearing of both.

    A recogniser passes over what noise drowns. What was drowned would be lost then, and never asked for again.
    """
    if second.clarity != "unclear" or not (first.clarity == together.clarity == "clear"):
        return False
    if len(together.words) > len(first.words):
        return False
    began, ended = part.speech_start_seconds, part.speech_end_seconds
    covered = sum(
        max(0.0, min(word.end_seconds, ended) - max(word.start_seconds, began)) for word in together.words
    )
    return covered < LEAST_COVERED * (ended - began)


def with_placed_words(hearing: Hearing, utterance: Utterance) -> Hearing:
    """A hearing of an utterance with gaps, its words at the moments of the session at which they were said."""
    if not utterance.gaps:
        return hearing
    start = utterance.start_seconds
    placed = hearing.with_times(lambda seconds: round(utterance.placed(seconds - start), 3))
    return placed.model_copy(update={"start_seconds": start, "end_seconds": utterance.end_seconds})
