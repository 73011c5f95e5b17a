"""Distances in nautical miles, speeds in knots, Mach numbers, and small counts.

Separate digits for other numbers ('10' is 'one zero', AIM 4-2-8d) and for speeds ('two five zero knots',
AIM 4-2-11); 'Mach point six four', 'Mach one point five' (AIM 4-2-11). The unit may be said inside the slot; an
author who requires it writes it behind the slot.
"""

from __future__ import annotations

import re

from voice_trainer.phraseology.forms import Form, either, perhaps, say, silent, then
from voice_trainer.phraseology.numerals import any_digits, digit, grouped, pair, spoken_digits
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

NOT_ZERO = "123456789"


def _distance_form() -> Form:
    tenth = then(either(say("point", "."), say("decimal", ".")), digit())
    whole = either(
        digit(NOT_ZERO),
        then(digit(NOT_ZERO), digit()),
        then(digit("12"), any_digits(2)),
        grouped(pair(range(10, 100))),
        grouped(then(digit("12"), pair(range(10, 100)))),
    )
    below_one = then(
        either(say("zero", "0"), silent("0")), either(say("point", "."), say("decimal", ".")), digit(NOT_ZERO)
    )
    return then(
        either(then(whole, either(silent(""), tenth)), below_one, say("half a", "0.5")),
        perhaps("miles", "mile", "nautical miles", "dme"),
    )


def _tidy_distance(text: str) -> str:
    matched = re.fullmatch(r"([0-9]{1,3})(?:\.([0-9]))?(?: ?(?:nm|NM|miles))?", text)
    if matched is not None:
        tenths = int(matched[1]) * 10 + int(matched[2] or 0)
        if 1 <= tenths < 3000:
            return _distance(tenths)
    raise ValueError(f"{text!r} is no distance: write nautical miles, 0.1 to 299.9, as in 6.5")


def _distance(tenths: int) -> str:
    return f"{tenths // 10}.{tenths % 10}" if tenths % 10 else str(tenths // 10)


def _speak_distance(value: str, region: Region) -> tuple[str, ...]:
    whole, point, tenth = value.partition(".")
    if not point:
        return spoken_digits(whole)
    return (*spoken_digits(whole), "point" if region == "faa" else "decimal", *spoken_digits(tenth))


def _speed_form() -> Form:
    digits = either(
        then(digit("3456789"), digit()), then(digit("12345"), any_digits(2)), say("six zero zero", "600")
    )
    in_groups = either(
        pair(range(30, 100)),
        then(digit("12345"), pair(range(10, 100))),
        then(digit("123456"), say("hundred", "00")),
    )
    return then(either(digits, grouped(in_groups)), perhaps("knots"))


def _tidy_speed(text: str) -> str:
    knots = text.removesuffix("knots").removesuffix("kt").strip()
    if knots.isascii() and knots.isdigit() and 30 <= int(knots) <= 600:
        return str(int(knots))
    raise ValueError(f"{text!r} is no speed: write knots, 30 to 600, as in 150")


def _mach_form() -> Form:
    point = either(say("point", "."), say("decimal", "."))
    hundredth = either(silent(""), digit())
    below_one = then(
        either(silent("0"), say("zero", "0")),
        point,
        either(then(digit(NOT_ZERO), hundredth), then(say("zero", "0"), digit(NOT_ZERO))),
    )
    above = then(digit("12"), either(silent(""), then(point, digit(), hundredth)))
    return then(say("mach", "M"), either(below_one, above))


def _mach(text: str) -> str:
    """'M0.60' and 'M1.00' to 'M0.6' and 'M1.0'."""
    whole, _, decimals = text.partition(".")
    return f"{whole}.{decimals.rstrip('0') or '0'}"


def _tidy_mach(text: str) -> str:
    matched = re.fullmatch(r"(?:[Mm](?:ach)? ?)?([0-2]?)\.([0-9]{1,2})", text)
    if matched is not None and int((matched[1] or "0") + matched[2]) > 0:
        return _mach(f"M{matched[1] or '0'}.{matched[2]}")
    raise ValueError(f"{text!r} is no Mach number: write 0.01 to 2.99, as in 0.64")


def _speak_mach(value: str, region: Region) -> tuple[str, ...]:
    whole, _, decimals = value.removeprefix("M").partition(".")
    point = "point" if region == "faa" else "decimal"
    return ("mach", *(spoken_digits(whole) if whole != "0" else ()), point, *spoken_digits(decimals))


def _count_form() -> Form:
    return either(digit(), pair(range(10, 100)), then(digit(NOT_ZERO), digit()))


def _tidy_count(text: str) -> str:
    if text.isascii() and text.isdigit() and int(text) <= 99:
        return str(int(text))
    raise ValueError(f"{text!r} is no count: write a whole number, 0 to 99")


def _digits(value: str, _region: Region) -> tuple[str, ...]:
    return spoken_digits(value)


TYPES = (
    SlotType(
        "distance",
        _distance_form(),
        _tidy_distance,
        _speak_distance,
        lambda value: f"{value} NM",
        finish=lambda text: text.removesuffix(".0"),
        spellings=lambda value: (value, f"{value}.0"),
    ),
    SlotType("speed", _speed_form(), _tidy_speed, _digits, lambda value: f"{value} kt"),
    SlotType(
        "mach",
        _mach_form(),
        _tidy_mach,
        _speak_mach,
        lambda value: f"Mach {value[1:]}",
        finish=_mach,
        spellings=lambda value: (value.removesuffix(".0"), value, f"{value}0"),
    ),
    SlotType("count", _count_form(), _tidy_count, _digits, lambda value: value),
)
