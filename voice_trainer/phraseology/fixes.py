"""Fixes: names that a drill declares, pronounced as words, or spelled in the spelling alphabet.

A five-letter name is chosen to be pronounceable, so the name as a word is the standard form (AIM 1-1-17, from
memory); spelled out it is the same fix. The type's name lists what was declared, 'fix brano,kelda': any of these
names may be heard, and any two to five letters spelled out, whichever fix the drill wants.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from voice_trainer.phraseology.codes import ALPHABET, letter, spelled
from voice_trainer.phraseology.forms import either, nested_repeat, one_of
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

PREFIX = "fix "
LEAST_LETTERS, MOST_LETTERS = 2, 5


def _tidy(text: str) -> str:
    name = " ".join(text.split()).upper()
    if not re.fullmatch(r"[A-Z]{2,15}(?: [A-Z]{1,15}){0,2}", name) or not normalise(name):
        raise ValueError(f"{text!r} is no fix: write its name in letters, as in KELDA")
    words = normalise(name)
    if len(words) > 1 and all(word in ALPHABET for word in words):
        raise ValueError(f"{text!r} can't be told from a fix that is spelled out: leave it out or rename it")
    return name


def type_name(names: Iterable[str]) -> str:
    """The name of the type for a drill's fixes; raises ValueError for a bad name, or two that sound alike."""
    tidied = sorted({_tidy(name.strip()) for name in names})
    heard: dict[tuple[str, ...], str] = {}
    for name in tidied:
        twin = heard.setdefault(normalise(name), name)
        if twin != name:
            raise ValueError(f"the fixes {twin!r} and {name!r} sound alike: rename one of them")
    return PREFIX + ",".join(tidied).lower()


def is_refined(name: str) -> bool:
    """Whether `name` is the name of a type with declared fixes."""
    names = name.removeprefix(PREFIX).split(",")
    try:
        return bool(name.startswith(PREFIX)) and type_name(names) == name
    except ValueError:
        return False


def refined(name: str) -> SlotType:
    """The type of the fixes in its name: 'fix brano,kelda'."""
    names = [each.upper() for each in name.removeprefix(PREFIX).split(",")]

    def speak(value: str, _region: Region) -> tuple[str, ...]:
        return tuple(value.lower().split()) if value in names else spelled(value)

    def tidy(text: str) -> str:
        spelled_out = re.fullmatch(f"[A-Z]{{{LEAST_LETTERS},{MOST_LETTERS}}}", text.upper())
        value = text.upper() if spelled_out else _tidy(text)
        if value not in names and not spelled_out:
            raise ValueError(f"{text!r} is none of the declared fixes: there are {', '.join(names)}")
        return value

    form = either(
        one_of((" ".join(normalise(each)), each) for each in names),
        nested_repeat(letter(), LEAST_LETTERS, MOST_LETTERS),
    )
    return SlotType(name, form, tidy, speak, lambda value: value, label="fix", example=names[0])


def _speak(value: str, _region: Region) -> tuple[str, ...]:
    return tuple(value.lower().split())


TYPES = (SlotType("fix", None, _tidy, _speak, lambda value: value, declare=type_name, example="KELDA"),)
