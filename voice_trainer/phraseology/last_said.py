"""Which of the words of a call hold in the end, where the student took some back ('correction')."""

from __future__ import annotations

from collections.abc import Sequence

from voice_trainer.phraseology.corrections import CORRECTION
from voice_trainer.phraseology.pattern import Pattern

MOST_WORDS = 80
"""In more words than these no correction is looked for: nobody says so much in one call."""


def last_said(pattern: Pattern, said: Sequence[str]) -> tuple[int, ...]:
    """The places of the words that hold, in the call's order; all of them where nothing was taken back.

    The word 'correction' may be missing: it was then said on its own, or not at all.
    """
    words = tuple(said)
    everything = tuple(range(len(words)))
    if len(words) > MOST_WORDS or pattern.match(words) is not None:
        return everything
    holding: dict[int, tuple[int, ...]] = {}  # of the words up to a place, those that hold
    for end in range(1, len(words) + 1):
        for first in (0, *sorted(holding)):
            begin = first + (first > 0 and words[first : first + 1] == (CORRECTION,))
            if begin >= end:
                continue
            if pattern.match(words[begin:end]) is not None:
                holding[end] = tuple(range(begin, end))
            elif first and (corrected := _corrected(pattern, words, holding[first], begin, end)):
                holding[end] = corrected
            if end in holding:
                break
    return holding.get(len(words), everything)


def _corrected(
    pattern: Pattern, words: Sequence[str], holding: tuple[int, ...], begin: int, end: int
) -> tuple[int, ...] | None:
    """What holds once the words from `begin` to `end` have put right a part of what held; None where they are none."""
    before = pattern.match([words[at] for at in holding])
    part = pattern.correction.match((CORRECTION, *words[begin:end]))
    if before is None or part is None or not part.slot_words.keys() <= before.slot_words.keys():
        return None
    places: list[int] = []
    instead = {before.slot_words[key]: part.slot_words[key] for key in part.slot_words}
    for number, place in enumerate(holding):
        old = next((each for each in instead if each[0] <= number < each[1]), None)
        if old is None:
            places.append(place)
        elif number == old[0]:
            first, past = instead[old]
            places.extend(range(begin + first - 1, begin + past - 1))
    return tuple(places)
