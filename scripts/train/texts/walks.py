"""Random ways through what may be said: a pattern with its slots open, the language of a slot, a grammar."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache
from typing import Literal

from scripts.train.texts.wording import Words
from voice_trainer.phraseology import nodes
from voice_trainer.phraseology.illegal_values import with_illegal_values
from voice_trainer.phraseology.nodes import Node
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.slots import slot_type

Values = Literal["legal", "any"]
"""'any': values too that no chart has, 'heading four five zero'."""

STANDARD_SHARE = 0.55
"""How many values are said in the standard form; the others in any form that is understood."""

ILLEGAL_SHARE = 0.6
"""How many values are none, where any value will do."""


def walk(node: Node, chance: random.Random, values: Values = "legal") -> Words:
    """One way to say a node; parts that may be left out are said half of the time."""
    return tuple(_walk(node, chance, values))


def value_of(type_name: str, chance: random.Random, values: Values = "legal") -> Words:
    """One way to say one value of a slot type."""
    kind = slot_type(type_name)
    language = kind.language()
    if values == "any" and type_name not in OPPOSITES and chance.random() < ILLEGAL_SHARE:
        number = _illegal(type_name)
        if number is not None:
            return walk(number, chance)
    # Altitudes end in zeros and frequencies begin with one: of some ways to say a value that with the fewest is said.
    words = min((walk(language, chance) for _ in range(3)), key=_often_said_digits)
    if not words or chance.random() >= STANDARD_SHARE:
        return words
    read = kind.value(tuple("nine" if word == "niner" else word for word in words))
    return words if read is None else kind.words(read[0], chance.choice(("faa", "icao")))


def _often_said_digits(words: Words) -> int:
    return 3 * words.count("one") + 2 * words.count("zero") + words.count("two") + words.count("three")


@cache
def _illegal(type_name: str) -> Node | None:
    """Numbers of every form, where the type is one of numbers."""
    language = slot_type(type_name).language()
    both = with_illegal_values(language)
    if both == language or not isinstance(both, nodes.Choice):
        return None
    rival = both.options[-1]
    return rival.part if isinstance(rival, nodes.Maybe) else rival


def _walk(node: Node, chance: random.Random, values: Values) -> Iterator[str]:
    match node:
        case nodes.Word(text):
            yield text
        case nodes.Slot(_, type_name, _):
            yield from value_of(type_name, chance, values)
        case nodes.Sequence(parts):
            for part in parts:
                yield from _walk(part, chance, values)
        case nodes.Choice(options):
            yield from _walk(chance.choice(options), chance, values)
        case nodes.Maybe(part):
            if chance.random() < 0.5:
                yield from _walk(part, chance, values)


def has_numbers(node: Node) -> bool:
    """Whether a number may be said in a node that is no legal value."""
    return any(
        slot.type not in OPPOSITES and _illegal(slot.type) is not None for slot in nodes.slots_of(node)
    )
