"""Headings, courses, radials and bearings: three digits, 001 to 360, said one by one.

AIM 4-2-10: 'the three digits of bearing, course, heading, or wind direction should always be magnetic'; 005
is 'zero zero five', and north is 'three six zero', never 000.
"""

from __future__ import annotations

from voice_trainer.phraseology.forms import Form, either, perhaps, say, then
from voice_trainer.phraseology.numerals import any_digits, digit, grouped, pair, spoken_digits
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType


def _separate() -> Form:
    zero, three = say("zero", "0"), say("three", "3")
    return either(
        then(zero, either(then(zero, digit("123456789")), then(digit("123456789"), digit()))),
        then(digit("12"), any_digits(2)),
        then(three, either(then(digit("012345"), digit()), say("six zero", "60"))),
    )


def _in_groups() -> Form:
    return grouped(
        either(
            then(digit("012"), pair(range(10, 100))),
            then(say("three", "3"), pair(range(10, 61))),
            then(digit("123"), say("hundred", "00")),
        )
    )


SEPARATE_DIGITS = _separate()
IN_GROUPS = _in_groups()


def _type(name: str, shown: str) -> SlotType:
    def tidy(text: str) -> str:
        if len(text) == 3 and text.isascii() and text.isdigit() and 1 <= int(text) <= 360:
            return text
        raise ValueError(f"{text!r} is no {name}: write three digits, 001 to 360")

    def speak(value: str, _region: Region) -> tuple[str, ...]:
        return spoken_digits(value)

    return SlotType(name, FORM, tidy, speak, shown.format)


FORM = then(either(SEPARATE_DIGITS, IN_GROUPS), perhaps("degrees"))
TYPES = (
    _type("heading", "heading {}"),
    _type("course", "course {}"),
    _type("radial", "radial {}"),
    _type("bearing", "bearing {}"),
)
