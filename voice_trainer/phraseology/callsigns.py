"""Callsigns: the telephony name is part of the wording, the number behind it is open.

'Heron 24' is 'heron two four'. Whatever number the drill gave, 'heron two five' is heard as Heron 25. The
name of the refined type says what is open: 'callsign heron' has one to four digits, 'callsign heron+' one to
five digits or letters (as for 'November 123AB', or G-ABCD, 'Golf ABCD').

After first contact a registration may be shortened: the FAA keeps the last three characters (AIM 4-2-4a), ICAO
the first character, or the type or operator, and at least the last two (Annex 10 Volume II 5.2.1.7.2.2; both from
memory). A telephony name with a flight number has no short form.
"""

from __future__ import annotations

import re

from voice_trainer.phraseology.codes import letter, spelled
from voice_trainer.phraseology.forms import Form, either, nested_repeat, say, silent, then
from voice_trainer.phraseology.numerals import digit, pair
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

PREFIX = "callsign "

TAIL = "[0-9][0-9A-Z]{0,4}|[A-Z][0-9A-Z]{1,4}"
"""What stands behind the telephony name; never one letter alone, which could belong to the name: 'hotel bravo'."""


def _tidy(text: str) -> str:
    if registration := re.fullmatch(rf"([A-Z]{{1,2}})-({TAIL})|(N)([0-9][0-9A-Z]{{0,4}})", text):
        nationality, tail = registration[1] or registration[3], registration[2] or registration[4]
        return f"{' '.join(spelled(nationality)).title()} {tail}"
    matched = re.fullmatch(r"([A-Za-z]+(?: [A-Za-z]+)*) ([0-9][0-9A-Za-z]{0,4}|[A-Z][0-9A-Z]{1,4})", text)
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


def abbreviated(value: str, region: Region) -> tuple[str, ...]:
    """The short forms of a callsign, as canonical texts; () where it has none."""
    name, _, tail = value.rpartition(" ")
    if tail.isdigit() and len(tail) <= 4:
        return ()
    first = name.split()[0]
    if region == "faa":
        shorter = [(name, 3)]
    elif first == name:
        shorter = [(first, 2), (first, 3)]
    else:
        # Of two letters of nationality only the first stays: 'hotel' and three letters could be read as all of it.
        shorter = [(first, 2)]
    return tuple(f"{kept} {tail[-length:]}" for kept, length in shorter if len(tail) > length)


def _tail(letters: bool) -> Form:
    if letters:
        either_one = either(digit(), letter())
        return either(
            then(digit(), nested_repeat(either_one, 0, 4)), then(letter(), nested_repeat(either_one, 1, 4))
        )
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


TYPES = (SlotType("callsign", None, _tidy, _speak, lambda value: value, refine=_refine, example="Heron 24"),)
