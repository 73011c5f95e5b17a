"""The shape of everything that can be said: a small regular language over words.

A pattern, the open language of a slot ("any three digits") and a whole grammar are all made of these five
nodes, so that each engine needs one compiler only, from nodes to its own form, and the reader of words
(`voice_trainer.phraseology.grammar`) needs one walk.

Words are lower case, without punctuation, as `voice_trainer.phraseology.normaliser` leaves them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Word:
    """One spoken word."""

    text: str


@dataclass(frozen=True, slots=True)
class Sequence:
    """Parts said one after the other; empty means silence."""

    parts: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """Exactly one of the options; the first is how a cue or a model answer says it."""

    options: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Maybe:
    """A part that may be left out: `[so written]` in a pattern.

    What leaving it out means: nothing ('free'), a remark on style ('remarked'), or a part that is missing
    ('owed'). The last two come from the rules of a house, never from what an author writes in a pattern.
    """

    part: Node
    unsaid: Unsaid = "free"


@dataclass(frozen=True, slots=True)
class Slot:
    """A typed value inside a pattern.

    `key` is unique within its pattern (`heading`, then `heading 2`); `type` names a slot type
    (`voice_trainer.phraseology.slots`). `value` is the value that the drill expects, in the type's canonical
    text ('095'), or None where the slot is open. A word with an opposite (left, climb, inbound, on) is such a
    slot too: what is heard is never narrowed to the side that the drill wants.
    """

    key: str
    type: str
    value: str | None


Unsaid = Literal["free", "remarked", "owed"]

Node = Word | Sequence | Choice | Maybe | Slot


def slots_of(node: Node) -> Iterator[Slot]:
    """Every slot below `node`, in the order in which it is written."""
    match node:
        case Slot():
            yield node
        case Sequence(parts):
            for part in parts:
                yield from slots_of(part)
        case Choice(options):
            for option in options:
                yield from slots_of(option)
        case Maybe(part):
            yield from slots_of(part)
        case Word():
            return


def words_of(node: Node) -> Iterator[str]:
    """Every literal word below `node` (the words of slots are not literal)."""
    match node:
        case Word(text):
            yield text
        case Sequence(parts):
            for part in parts:
                yield from words_of(part)
        case Choice(options):
            for option in options:
                yield from words_of(option)
        case Maybe(part):
            yield from words_of(part)
        case Slot():
            return
