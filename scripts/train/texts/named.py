"""Made-up names and words of checklists in the sentences in which somebody's own drills will have them."""

from __future__ import annotations

import random

from scripts.train.texts.handwritten import equipment, sentences_for
from scripts.train.texts.walks import walk
from scripts.train.texts.wording import Words

NAME, OTHER_NAME, THING, OTHER_THING, STATE, DEED, SYSTEM, WORD, OTHER_WORD = (
    "aname", "othername", "athing", "otherthing", "astate", "adeed", "asystem", "aword", "otherword"
)  # fmt: skip
"""Stand in a pattern for a word that is drawn."""


def with_name(name: str, other: str, chance: random.Random) -> Words:
    """A sentence with a made-up name in it, some with two."""
    words = walk(chance.choice(sentences_for("names")).node, chance)
    return _filled(words, {NAME: name, OTHER_NAME: other})


def with_thing(thing: str, other: str, chance: random.Random) -> Words:
    """A line of a checklist with a thing in it."""
    state = chance.choice(
        (
            chance.choice(equipment("states")),
            chance.choice(equipment("states")),
            chance.choice(equipment("phrases")),
        )
    )
    words = walk(chance.choice(sentences_for("things")).node, chance)
    given = {
        THING: thing,
        OTHER_THING: other,
        STATE: state,
        DEED: chance.choice(equipment("deeds")),
        SYSTEM: chance.choice(equipment("systems")),
    }
    return _filled(words, given)


def with_word(word: str, others: tuple[str, ...], chance: random.Random) -> Words:
    """Any word among any others, as in drills that nobody has written yet."""
    words = walk(chance.choice(sentences_for("words")).node, chance)
    given = {WORD: word, STATE: chance.choice(equipment("states")), DEED: chance.choice(equipment("deeds"))}
    found = tuple(chance.choice(others) if each == OTHER_WORD else each for each in words)
    return _filled(found, given)


def _filled(words: Words, given: dict[str, str]) -> Words:
    found: list[str] = []
    for word in words:
        if word.endswith("s") and word[:-1] in given:
            found.append(_plural(given[word[:-1]]))
        else:
            found += given.get(word, word).split()
    return tuple(found)


def _plural(word: str) -> str:
    if word.endswith(("s", "x", "z", "ch", "sh")):
        return f"{word}es"
    return f"{word[:-1]}ies" if word.endswith("y") and word[-2] not in "aeiou" else f"{word}s"
