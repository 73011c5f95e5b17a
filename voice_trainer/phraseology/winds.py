"""Winds as a controller gives them: direction, speed, and a gust where there is one.

FAA: 'zero three zero at two five' (JO 7110.65 2-4-17, from memory). ICAO: 'one six zero degrees one eight knots
gusting three zero knots' (Annex 10 Volume II 5.2.1.4.1). Canonical text: '030/25', '160/18G30'.
"""

from __future__ import annotations

import re

from voice_trainer.phraseology.directions import IN_GROUPS, SEPARATE_DIGITS
from voice_trainer.phraseology.forms import Form, either, one_of, perhaps, say, silent, then
from voice_trainer.phraseology.numerals import digit, grouped, pair, spoken_digits
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

NOT_ZERO = "123456789"


def _form() -> Form:
    two_digits = either(then(digit(NOT_ZERO), digit()), grouped(pair(range(10, 100))))
    speed = then(either(digit(NOT_ZERO), two_digits), perhaps("knots"))
    # A gust has two digits, or 'gusts two eight' would sound like 'gusts to eight'. (Below ten knots none is reported.)
    gusts = then(one_of((word, "G") for word in ("gusting", "gusts", "gust")), perhaps("to"))
    gust = then(gusts, two_digits, perhaps("knots"))
    at = say("at", "/")
    # Without 'at', 'one twenty five six' could be 120 at 56 or 125 at 6.
    direction = either(
        then(SEPARATE_DIGITS, perhaps("degrees"), either(silent("/"), at)),
        then(IN_GROUPS, perhaps("degrees"), at),
    )
    return then(direction, speed, either(silent(""), gust))


def _finish(text: str) -> str | None:
    """No gust is as strong as the wind itself or weaker, or has one digit."""
    speed, _, gust = text.partition("/")[2].partition("G")
    return None if gust and int(gust) <= max(9, int(speed)) else text


def _tidy(text: str) -> str:
    matched = re.fullmatch(r"([0-9]{3})(?:/| at )([0-9]{1,2})(?:G([0-9]{1,2}))?", text)
    if matched is not None and 1 <= int(matched[1]) <= 360 and int(matched[2]) >= 1:
        gust = f"G{int(matched[3])}" if matched[3] else ""
        value = _finish(f"{matched[1]}/{int(matched[2])}{gust}")
        if value is not None:
            return value
    raise ValueError(f"{text!r} is no wind: write direction and knots, as in 240/18 or 160/18G30")


def _speak(value: str, region: Region) -> tuple[str, ...]:
    direction, _, knots = value.partition("/")
    speed, _, gust = knots.partition("G")
    if region == "faa":
        gusts = ("gusts", *spoken_digits(gust)) if gust else ()
        return (*spoken_digits(direction), "at", *spoken_digits(speed), *gusts)
    gusts = ("gusting", *spoken_digits(gust), "knots") if gust else ()
    return (*spoken_digits(direction), "degrees", *spoken_digits(speed), "knots", *gusts)


TYPES = (SlotType("wind", _form(), _tidy, _speak, lambda value: f"{value} kt", finish=_finish),)
