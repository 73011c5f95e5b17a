"""What a drill is called by somebody who starts it by voice."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

from voice_trainer.drills.model import Drill
from voice_trainer.phraseology.numerals import spoken_digits

_PARTS = re.compile(r"[a-z]+|[0-9]+")


def spoken_name(drill: Drill) -> str:
    """The name as it is said: what the drill declares, else its own, figures digit by digit.

    Of the name of a pack's drill the pack's is left out.
    """
    if drill.spoken_name is not None:
        return drill.spoken_name
    return in_words(drill.drill.rpartition("/")[2])


def in_words(name: str) -> str:
    """A name of a drill or a step as it is said, figures digit by digit."""
    parts = _PARTS.findall(name)
    return " ".join(word for part in parts for word in (spoken_digits(part) if part.isdigit() else (part,)))


def by_spoken_name(drills: Iterable[Drill]) -> dict[str, Drill]:
    """Drills by their spoken names; of two that are called alike the first stays, since only one can be meant.

    The drill of a pack then is called by its whole name, its pack's before its own; so are those of two packs.
    """
    drills = list(drills)
    of_packs = Counter(spoken_name(drill) for drill in drills if "/" in drill.drill)
    found: dict[str, Drill] = {}
    for drill in drills:
        name = spoken_name(drill)
        if "/" in drill.drill and (name in found or of_packs[name] > 1):
            name = in_words(drill.drill)
        found.setdefault(name, drill)
    return found


def pronounced(drills: Iterable[Drill]) -> dict[str, str]:
    """How the made-up words of the drills' spoken names sound (ARPAbet), as each drill has it."""
    found: dict[str, str] = {}
    for drill in drills:
        words = (*spoken_name(drill).split(), *_PARTS.findall(drill.drill))
        found |= {word: sounds for word, sounds in drill.pronounce.items() if word in words}
    return found
