"""What a drill is called by somebody who starts it by voice."""

from __future__ import annotations

import re
from collections.abc import Iterable

from voice_trainer.drills.model import Drill
from voice_trainer.phraseology.numerals import spoken_digits

_PARTS = re.compile(r"[a-z]+|[0-9]+")


def spoken_name(drill: Drill) -> str:
    """The name as it is said: what the drill declares, else its own, figures digit by digit."""
    if drill.spoken_name is not None:
        return drill.spoken_name
    return in_words(drill.drill)


def in_words(name: str) -> str:
    """A name of a drill or a step as it is said, figures digit by digit."""
    parts = _PARTS.findall(name)
    return " ".join(word for part in parts for word in (spoken_digits(part) if part.isdigit() else (part,)))


def by_spoken_name(drills: Iterable[Drill]) -> dict[str, Drill]:
    """Drills by their spoken names; of two that sound alike the first stays, since only one can be meant."""
    found: dict[str, Drill] = {}
    for drill in drills:
        found.setdefault(spoken_name(drill), drill)
    return found


def pronounced(drills: Iterable[Drill]) -> dict[str, str]:
    """How the made-up words of the drills' spoken names sound (ARPAbet), as each drill has it."""
    found: dict[str, str] = {}
    for drill in drills:
        words = spoken_name(drill).split()
        found |= {word: sounds for word, sounds in drill.pronounce.items() if word in words}
    return found
