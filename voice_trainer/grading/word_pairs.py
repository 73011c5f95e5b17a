"""A wording over what was said in its place, as data: for whatever shows a student where the two differ."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict

from voice_trainer.grading.alignment import align
from voice_trainer.phraseology.normaliser import normalise

Difference = Literal["same", "instead", "left out", "added"]


class WordPair(BaseModel):
    """A word that was expected over the one that was said; null where there is none."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    expected: str | None
    said: str | None
    difference: Difference


def word_pairs(expected: str, said: str) -> tuple[WordPair, ...]:
    """Both wordings word by word, as few differences as there can be."""
    pairs = align(normalise(expected), normalise(said)).pairs
    return tuple(
        WordPair(expected=each.expected, said=each.said, difference=_difference(each.expected, each.said))
        for each in pairs
    )


def _difference(expected: str | None, said: str | None) -> Difference:
    if expected == said:
        return "same"
    if said is None:
        return "left out"
    return "added" if expected is None else "instead"
