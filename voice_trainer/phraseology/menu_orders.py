"""What can be said to the trainer between drills.

Nobody talks on the radio there, so the trainer's name may be left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from voice_trainer.phraseology.grammar import Phrase
from voice_trainer.phraseology.orders import FROM_THE_FIX, START
from voice_trainer.phraseology.pattern import Pattern, compile_pattern
from voice_trainer.phraseology.slots import Region
from voice_trainer.phraseology.trainer_name import TRAINER_NAME

MENU_ORDERS: dict[str, str] = {
    "list": "(what is there | list [the] [drills])",
    "menu": "(menu | help)",
    "due": "what is due",
    "debrief": "debrief [me]",
    "full debrief": "full debrief",
    "again": "(again | once more)",
    "say again": "say again",
    "slower": "[speak] slower",
    "faster": "[speak] faster",
    "skip": "skip [this | it]",
    "end": "(end | stop)",
}
"""What the trainer can be told to do, and the words for it, with or without its name before them."""

PRACTISE = "practise"
"""The order that begins a session of what is due: 'practise', or 'practise NUMBER' with the minutes."""

CALLED = "called"
"""Only its name was said: an order may follow. It is listened for so that it is not taken for the nearest order."""


def menu_phrases(
    drills: Mapping[str, str], name: str = TRAINER_NAME, region: Region = "faa"
) -> tuple[Phrase, ...]:
    """The menu's phrases, of kind 'control'; `drills` maps spoken names to drills. Raises PatternError."""
    return tuple(Phrase(pattern, "control") for _, pattern in _patterns(name, region, tuple(drills.items())))


def menu_order(
    phrase: str, slots: Mapping[str, str], drills: Mapping[str, str], name: str = TRAINER_NAME
) -> str | None:
    """What a heard phrase asks for; None for no such phrase.

    A key of `MENU_ORDERS`, `CALLED`, 'again from the fix', 'start DRILL', 'practise', or 'practise NUMBER' of minutes.
    `phrase` and `slots` are those of the hearing's meaning: 'start' alone is no 'stop'.
    """
    for order, pattern in _patterns(name, "faa", tuple(drills.items())):
        if pattern.phrase == phrase and not pattern.differences(slots):
            minutes = slots.get("count") if order == PRACTISE else None
            return order if minutes is None else f"{order} {minutes}"
    return None


@lru_cache(maxsize=16)
def _patterns(
    name: str, region: Region, drills: tuple[tuple[str, str], ...]
) -> tuple[tuple[str, Pattern], ...]:
    """Every order with its pattern."""
    found = [
        (order, compile_pattern(f"[{name}] {text}", region=region)) for order, text in MENU_ORDERS.items()
    ]
    found.append(
        (FROM_THE_FIX, compile_pattern(f"[{name}] (again | once more) from [the] [last] fix", region=region))
    )
    found.append((CALLED, compile_pattern(name, region=region)))
    # 'Practise' and 'practice' sound alike, and dictionaries have the second.
    found += [
        (PRACTISE, compile_pattern(f"[{name}] {text}", region=region))
        for text in ("practice [what is due]", "[practice [for]] {count} minutes [please]")
    ]
    found += [
        (f"{START} {drill}", compile_pattern(f"[{name}] (start | fly) {spoken}", region=region))
        for spoken, drill in drills
    ]
    return tuple(found)
