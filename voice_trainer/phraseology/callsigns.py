"""Callsigns: the telephony name is part of the wording, the number behind it is open.

'Heron 24' is 'heron two four'. Whatever number the drill gave, 'heron two five' is heard as Heron 25. The
name of the refined type says what is open: 'callsign heron' has one to four digits, 'callsign heron+' one to
five digits or letters (as for 'November 123AB').
"""

from __future__ import annotations

import re

from voice_trainer.phraseology.codes import letter, spelled
from voice_trainer.phraseology.forms import Form, either, nested_repeat, say, silent, then
from voice_trainer.phraseology.numerals import digit, pair
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

PREFIX = "callsign "


def _tidy(text: str) -> str:
    matched = re.fullmatch(r"([A-Za-z]+(?: [A-Za-z]+)*) ([0-9][0-9A-Za-z]{0,4})", text)
    if matched is None:
        raise ValueError(f"{text!r} is no callsign: write its telephony name and number, as in Heron 24")
    name, tail = matched[1].title(), matched[2].upper()
    return f"{name} {tail}"


def _speak(value: str, _region: Region) -> tuple[str, ...]:
    name, _, tail = value.rpartition(" ")
    return (*name.lower().split(), *spelled(tail))


def _refine(value: str) -> str:
    name, _, tail = value.rpartition(" ")
    short = tail.isdigit() and len(tail) <= 4
    return f"{PREFIX}{name.lower()}" if short else f"{PREFIX}{name.lower()}+"


def _tail(letters: bool) -> Form:
    if letters:
        return then(digit(), nested_repeat(either(digit(), letter()), 0, 4))
    in_groups = either(
        pair(range(10, 100)),
        then(pair(range(10, 100)), pair(range(10, 100))),
        then(digit("123456789"), pair(range(10, 100))),
    )
    return either(nested_repeat(digit(), 1, 4), in_groups)


def is_refined(name: str) -> bool:
    """Whether `name` is the name of a refined callsign type."""
    return re.fullmatch(r"callsign [a-z]+( [a-z]+)*\+?", name) is not None


def refined(name: str) -> SlotType:
    """The type with this telephony name, from its own name: 'callsign heron'."""
    telephony = name.removeprefix(PREFIX)
    form = then(
        say(telephony.removesuffix("+"), telephony.removesuffix("+").title()),
        silent(" "),
        _tail(letters=telephony.endswith("+")),
    )
    return SlotType(name, form, _tidy, _speak, lambda value: value, label="callsign", refine=_refine)


TYPES = (SlotType("callsign", None, _tidy, _speak, lambda value: value, refine=_refine),)
