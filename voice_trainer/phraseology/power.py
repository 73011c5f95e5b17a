"""Power settings: percent, inches of manifold pressure, foot-pounds of torque, revolutions per minute.

The unit is part of the value, and of the type's language: 'power percent', 'power inches', 'power torque' and
'power rpm' each have one, so that the number alone is enough where the drill says which it is. Power is not
spoken on the radio, so numbers are said as people count ('sixty five percent'); separate digits and 'twenty
four hundred' are as good (common practice).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from voice_trainer.phraseology.forms import Form, either, perhaps, say, silent, then
from voice_trainer.phraseology.heights import after_thousand_in_tens, hundreds_in_tens, in_hundreds
from voice_trainer.phraseology.numerals import and_word, cardinal_words, digit, pair
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

NOT_ZERO = "123456789"
PREFIX = "power "


@dataclass(frozen=True)
class Unit:
    """One kind of power: its unit as it is written and said, and its range in `step`s, all in tenths."""

    name: str
    suffix: str
    written: str
    said: tuple[str, ...]
    least_tenths: int
    most_tenths: int
    step_tenths: int
    form: Callable[[], Form]
    example: str

    def tidy(self, text: str) -> str | None:
        """A value with this unit in canonical text, None for any other."""
        matched = re.fullmatch(rf"([0-9]{{1,4}})(?:\.([0-9]))? ?(?:{self.written})", text.replace(",", ""))
        if matched is None:
            return None
        tenths = int(matched[1]) * 10 + int(matched[2] or 0)
        legal = self.least_tenths <= tenths <= self.most_tenths and tenths % self.step_tenths == 0
        return f"{_number(tenths)}{self.suffix}" if legal else None

    @property
    def legal(self) -> str:
        """What may be written, for an error line."""
        least, most = _number(self.least_tenths), _number(self.most_tenths)
        step = " in tens" if self.step_tenths == 100 else ""
        return f"{least} to {most}{self.suffix}{step}"


def _number(tenths: int) -> str:
    return f"{tenths // 10}.{tenths % 10}" if tenths % 10 else str(tenths // 10)


def _tenths() -> Form:
    return either(silent(""), then(either(say("point", "."), say("decimal", ".")), digit()))


def _percent_form() -> Form:
    above_a_hundred = then(
        say("one hundred", "1"),
        either(
            silent("00"),
            then(and_word(), either(pair(range(10, 20)), then(silent("0"), digit(NOT_ZERO)))),
        ),
    )
    whole = either(
        digit(NOT_ZERO),
        pair(range(10, 100)),
        then(digit(NOT_ZERO), digit()),
        above_a_hundred,
        then(say("one", "1"), digit("01"), digit()),
    )
    return either(then(whole, _tenths()), say("one hundred twenty", "120"), say("one two zero", "120"))


def _inches_form() -> Form:
    return then(either(pair(range(10, 60)), then(digit("12345"), digit())), _tenths())


def _tens_form(thousands: str) -> Form:
    """Whole tens from a hundred up; `thousands` are the digits that may stand before 'thousand'."""
    groups = [n for n in range(11, 100) if n % 10 and n // 10 in map(int, thousands)]
    return either(
        hundreds_in_tens(),
        then(digit(thousands), say("thousand", ""), after_thousand_in_tens()),
        then(pair(groups), say("hundred", "00")),
        then(digit(NOT_ZERO), digit(), say("zero", "0")),
        then(digit(thousands), digit(), digit(), say("zero", "0")),
    )


UNITS = (
    Unit("percent", "%", "%|percent", ("percent",), 10, 1200, 1, _percent_form, "65%"),
    Unit("inches", " in", "in|inches", ("inches", "inches of manifold"), 100, 599, 1, _inches_form, "24 in"),
    Unit(
        "torque", " ft-lb", "ft-lb|ft-lbs|foot-pounds", ("foot pounds",), 1000, 39900, 100,
        lambda: _tens_form("123"), "950 ft-lb",
    ),
    Unit("rpm", " rpm", "rpm|RPM", ("rpm",), 1000, 99900, 100, lambda: _tens_form(NOT_ZERO), "2400 rpm"),
)  # fmt: skip


def _tidy(text: str) -> str:
    for unit in UNITS:
        value = unit.tidy(text)
        if value is not None:
            return value
    legal = ", ".join(unit.legal for unit in UNITS)
    raise ValueError(f"{text!r} is no power: write the number with its unit, {legal}")


def _unit_of(value: str) -> Unit:
    return next(unit for unit in UNITS if unit.tidy(value) is not None)


def _counted(tenths: str, region: Region) -> tuple[str, ...]:
    whole, point, tenth = tenths.partition(".")
    decimals = ("point" if region == "faa" else "decimal", *cardinal_words(int(tenth))) if point else ()
    return (*cardinal_words(int(whole)), *decimals)


def _speak(value: str, region: Region) -> tuple[str, ...]:
    unit = _unit_of(value)
    number = value.removesuffix(unit.suffix)
    words = in_hundreds(number) if unit.step_tenths == 100 else _counted(number, region)
    return (*words, *unit.said[0].split())


def _type(unit: Unit) -> SlotType:
    def tidy(text: str) -> str:
        value = unit.tidy(text)
        if value is None:
            raise ValueError(f"{text!r} is no power in {unit.name}: write {unit.legal}, as in {unit.example}")
        return value

    return SlotType(
        PREFIX + unit.name,
        then(unit.form(), perhaps(*unit.said)),
        tidy,
        _speak,
        lambda value: value,
        label="power",
        finish=lambda text: f"{text.removesuffix('.0')}{unit.suffix}",
        spellings=lambda value: (value.removesuffix(unit.suffix), f"{value.removesuffix(unit.suffix)}.0"),
        example=unit.example,
    )


def _refine(value: str) -> str:
    return PREFIX + _unit_of(value).name


BY_UNIT = tuple(_type(unit) for unit in UNITS)
"""The types with a language: one for each unit."""

TYPES = (SlotType("power", None, _tidy, _speak, lambda value: value, refine=_refine, example="65%"),)
