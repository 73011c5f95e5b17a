"""Everything that the built-in drills, approaches and holds listen for, every value open."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from voice_trainer.drills.domain import domain_of
from voice_trainer.library.builtin import builtin_drills, everything, find_drill
from voice_trainer.phraseology.corrections import CORRECTION
from voice_trainer.phraseology.menu_orders import menu_phrases
from voice_trainer.phraseology.orders import control_phrases
from voice_trainer.phraseology.pattern import Pattern

DAYS = 3
"""How often each drill is drawn: on another day an approach has other calls."""

OTHER_NAMES = ("coach", "partner", "captain", "teacher", "buddy")
"""What somebody may call the trainer instead."""


@dataclass(frozen=True)
class Library:
    """The patterns by what they are for; each is there once."""

    calls: tuple[Pattern, ...]
    corrections: tuple[Pattern, ...]
    trade: tuple[Pattern, ...]
    orders: tuple[Pattern, ...]

    @property
    def all(self) -> tuple[Pattern, ...]:
        """All of them."""
        return (*self.calls, *self.corrections, *self.trade, *self.orders)


@cache
def library(days: int = DAYS) -> Library:
    """The patterns of all that comes with the program, in a fixed order."""
    found: dict[str, dict[str, Pattern]] = {"call": {}, "correction": {}, "trade": {}, "control": {}}
    for name in sorted(everything()):
        for day in range(days):
            for phrase in domain_of(find_drill(name, day)).phrases:
                corrects = phrase.pattern.text.startswith(f"{CORRECTION} ")
                of_kind = found["correction" if corrects and phrase.kind == "call" else phrase.kind]
                of_kind.setdefault(phrase.pattern.text, phrase.pattern)
    spoken_names = {name.replace("-", " "): name for name in sorted(builtin_drills())}
    named = {said: name for said, name in spoken_names.items() if not any(map(str.isdigit, said))}
    for phrase in (*menu_phrases(named), *control_phrases(drills=named)):
        found["control"].setdefault(phrase.pattern.text, phrase.pattern)
    for trainer_name in OTHER_NAMES:
        for phrase in control_phrases(trainer_name, drills=named):
            found["control"].setdefault(phrase.pattern.text, phrase.pattern)
    return Library(*(tuple(found[kind].values()) for kind in ("call", "correction", "trade", "control")))
