"""Chooses the words kept aside for a test: python -m scripts.train.texts.unseen ENGLISH > unseen_words.yaml

ENGLISH is what `sources.py` fetched; the file belongs into `tests/train/`.

200 made-up names and 200 words as they stand in checklists, by seed. None of them stands in the library, and none is
among the most frequent words of English: those are learnt.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from functools import cache
from hashlib import sha256
from pathlib import Path

from scripts.train.texts.english import English, english_in
from scripts.train.texts.handwritten import equipment, words_by_hand
from scripts.train.texts.library import DAYS, library
from scripts.train.texts.made_up_names import made_up_names
from voice_trainer.phraseology.grammar import expanded
from voice_trainer.phraseology.nodes import words_of

SEED = "kept aside"
NAMES = 200
EQUIPMENT, OTHER_THINGS = 140, 60
LEARNT = 5000
"""So many of the most frequent words are learnt by every model."""

FREQUENT_ENOUGH = 20_000

UNFIT = frozenset(
    {
        "altar", "asylum", "bikini", "bomber", "bong", "bra", "butt", "cigar", "coffin", "condom", "darn", "dildo",
        "grenade", "heroin", "kat", "missile", "morphine", "nipple", "nuke", "poop", "porn", "privy", "rifle", "smack",
        "toilet", "vomit", "weaponry", "whore",
    }
)  # fmt: skip
"""Things that no checklist has, or that nobody wants to read there."""


@cache
def words_of_the_library(days: int = DAYS) -> frozenset[str]:
    """Every word that the built-in drills listen for."""
    return frozenset(
        word for pattern in library(days).all for word in words_of(expanded(pattern.node, pattern.region))
    )


def chosen(english: English) -> dict[str, list[str]]:
    """The words that are kept aside, by what they are."""
    learnt = {*words_of_the_library(), *english.frequent[:LEARNT], *words_by_hand()}
    known = frozenset(english.frequent) | learnt
    things = equipment("things")

    def drawn(words: Iterable[str], count: int) -> list[str]:
        # Of 'valve' and 'valves' only one can be new. A word keeps its place in the order whatever others there are:
        # who writes another line by hand changes this list only by the words of that line.
        new = [w for w in words if w not in learnt and not w.endswith("s") and f"{w}s" not in learnt]
        return sorted(new, key=lambda w: sha256(f"{SEED}/{w}".encode()).digest())[:count]

    of_checklists = drawn(sorted(set(things) - UNFIT), EQUIPMENT)
    frequent = frozenset(english.frequent[:FREQUENT_ENOUGH])
    others = drawn([w for w in english.things if w in frequent and w not in (*things, *UNFIT)], OTHER_THINGS)
    return {
        "names": sorted(made_up_names(NAMES, SEED, known)),
        "checklist": sorted({*of_checklists, *others}),
    }


def main(arguments: list[str]) -> int:
    """Print the file."""
    if len(arguments) != 1:
        print("scripts.train.texts.unseen: name the folder of the English texts", file=sys.stderr)
        return 2
    print("# Words that no training text holds, in singular or plural (scripts/train/texts/unseen.py).")
    for kind, words in chosen(english_in(Path(arguments[0]))).items():
        print(f"{kind}:")
        for word in words:
            print(f"  - {word!r}" if word in ("on", "off", "yes", "no", "null") else f"  - {word}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
