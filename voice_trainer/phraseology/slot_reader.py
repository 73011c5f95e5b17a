"""Slots in one utterance: where each type can end, and its value, worked out once for each place."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from voice_trainer.phraseology.automaton import FirstWords, WordReader
from voice_trainer.phraseology.nodes import Slot
from voice_trainer.phraseology.slots import Region, slot_type


@cache
def word_reader(type_name: str) -> WordReader:
    """The reader of a slot type's language."""
    return WordReader(slot_type(type_name).language())


def first_words(slot: Slot) -> FirstWords:
    """The words that a slot can begin with, and whether it can be empty."""
    reader = word_reader(slot.type)
    return reader.firsts, reader.nullable


class SlotReader:
    """Reads the slots in `words`."""

    def __init__(self, words: Sequence[str], region: Region) -> None:
        """Nothing is read before it is asked for. `region`: whose wording a remark recommends."""
        self._words = tuple(words)
        self.region: Region = region
        self._ends: dict[tuple[str, int], tuple[int, ...]] = {}

    def ends(self, slot: Slot, start: int) -> tuple[int, ...]:
        """Where the slot can end if it starts at the word `start`: longest first."""
        place = (slot.type, start)
        known = self._ends.get(place)
        if known is None:
            # A few sentences of a language are no value (a gust below its wind): they are no end.
            known = self._ends[place] = tuple(
                end
                for end in word_reader(slot.type).ends(self._words, start)
                if slot_type(slot.type).value(self._words[start:end], self.region) is not None
            )
        return known

    def value(self, slot: Slot, start: int, end: int) -> tuple[str, tuple[str, ...]]:
        """The canonical text and the remarks of the slot in these words, an end from `ends`."""
        found = slot_type(slot.type).value(self._words[start:end], self.region)
        if found is None:
            raise ValueError(f"{self._words[start:end]} is no {slot.type}")
        return found
