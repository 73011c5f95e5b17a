"""A wording over what was said in its place, as data: for whatever shows a student where the two differ.

What is meant is compared, value by value (`phraseology/comparison.py`).
"""

from __future__ import annotations

from typing import Final, Literal

from pydantic import BaseModel, ConfigDict

from voice_trainer.drills.bare_answers import in_any_reading
from voice_trainer.drills.model import Drill
from voice_trainer.grading.tolerance import is_near_enough
from voice_trainer.journal.events import Settled
from voice_trainer.journal.verdicts import Verdict
from voice_trainer.phraseology.comparison import compared, unmarked
from voice_trainer.phraseology.nodes import Slot
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.pattern import Difference as ValueDifference
from voice_trainer.phraseology.word_edits import WordEdit

Difference = Literal["same", "instead", "left out", "added"]

RIGHT_WORDS: Final[frozenset[Verdict]] = frozenset({"correct", "late", "early", "out of order"})
"""Verdicts of calls in which nothing was wrong with what was said."""


class WordPair(BaseModel):
    """A word that was expected over the one that was said; null where there is none.

    'same': they mean the same. What was said beside the call, or was taken back, is the same over null.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    expected: str | None
    said: str | None
    difference: Difference


def pairs_of_call(drill: Drill, settled: Settled) -> tuple[WordPair, ...]:
    """The right reading of a call, a bare answer among them, that is nearest to what was said, over that; () where
    nothing was said of it.
    """
    said = normalise(settled.said)
    if not said:
        return ()
    call = next(
        each
        for step in drill.steps
        if step.step == settled.step and step.flow
        for each in step.flow.calls
        if each.call == settled.call
    )

    def is_right(slot: Slot, heard: str) -> bool:
        assert slot.value is not None
        return is_near_enough(ValueDifference(slot.key, slot.type, slot.value, heard), call.within)

    pattern = in_any_reading(drill.pattern(call), drill.answer_pattern(call))
    if settled.verdict in RIGHT_WORDS:
        return _as_pairs(unmarked(pattern, said))
    return _as_pairs(compared(pattern, said, is_right))


def _as_pairs(edits: tuple[WordEdit, ...]) -> tuple[WordPair, ...]:
    return tuple(
        WordPair(expected=each.expected, said=each.said, difference=_difference(each)) for each in edits
    )


def _difference(edit: WordEdit) -> Difference:
    if not edit.marked:
        return "same"
    if edit.said is None:
        return "left out"
    return "added" if edit.expected is None else "instead"
