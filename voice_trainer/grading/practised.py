"""Whether a session came to anything: what was said in it, and how it ended."""

from __future__ import annotations

from voice_trainer.journal.events import DEVICE_LOST, is_by_the_student
from voice_trainer.journal.hearing import Hearing

END_OF_THE_INPUT = "end of the input"


def says_something(hearing: Hearing) -> bool:
    """Whether an utterance was more than noise, or a word to the trainer."""
    spans = hearing.best.spans if hearing.best else ()
    return hearing.clarity != "not a call" and (not spans or any(span.kind != "control" for span in spans))


def was_cut_short(ended: str | None) -> bool:
    """Whether a session ended before its drill did; None is the end of a journal that breaks off."""
    return ended is None or ended in (END_OF_THE_INPUT, DEVICE_LOST) or is_by_the_student(ended)
