"""Pitch attitudes: degrees nose up or down, in halves, as in 'eight degrees nose up'.

Not spoken on the radio: numbers as people count, separate digits as good (common practice). Canonical text:
'8 up', '2.5 down', '0'.
"""

from __future__ import annotations

import re

from voice_trainer.phraseology.forms import Form, either, one_of, perhaps, say, silent, then
from voice_trainer.phraseology.numerals import cardinal_words, digit, pair
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

MOST_DEGREES = 30

SIDES = {
    "nose up": "up", "up": "up", "nose high": "up", "nose down": "down", "down": "down", "nose low": "down",
}  # fmt: skip


def _form() -> Form:
    point = either(say("point", "."), say("decimal", "."))
    half = either(then(point, say("five", "5")), say("and a half", ".5"), then(point, say("zero", "0")))
    whole = either(digit("123456789"), pair(range(10, 30)), then(digit("12"), digit()))
    number = either(
        then(whole, either(silent(""), half)),
        either(say("thirty", "30"), say("three zero", "30")),
        then(either(say("zero", "0"), silent("0")), point, say("five", "5")),
        say("half a", "0.5"),
    )
    degrees = perhaps("degrees", "degree")
    side = one_of(SIDES.items())
    signs = one_of((("plus", "up"), ("minus", "down")))
    return either(
        then(number, degrees, silent(" "), side),
        then(either(side, signs), silent(" "), number, degrees),
        then(say("zero", "0"), degrees),
    )


def _canonical(half_degrees: int, side: str) -> str:
    number = f"{half_degrees // 2}.5" if half_degrees % 2 else str(half_degrees // 2)
    return f"{number} {side}" if half_degrees else "0"


def _half_degrees(number: str) -> int:
    whole, _, decimal = number.partition(".")
    return int(whole) * 2 + (decimal == "5")


def _finish(text: str) -> str:
    if text == "0":
        return text
    one, _, other = text.partition(" ")
    number, side = (one, other) if other in SIDES.values() else (other, one)
    return _canonical(_half_degrees(number), side)


def _spellings(value: str) -> tuple[str, ...]:
    number, _, side = value.partition(" ")
    if not side:
        return (value,)
    return tuple(text for each in (number, f"{number}.0") for text in (f"{each} {side}", f"{side} {each}"))


def _tidy(text: str) -> str:
    plain = text.replace("°", " ").replace("degrees", " ")
    matched = re.fullmatch(
        r"([+-]?)([0-9]{1,2}(?:\.[05])?) *((?:nose )?(?:up|down)|)", " ".join(plain.split())
    )
    if matched is not None:
        half_degrees = _half_degrees(matched[2])
        side = SIDES[matched[3]] if matched[3] else {"+": "up", "-": "down", "": ""}[matched[1]]
        said_twice = bool(matched[1]) and bool(matched[3])
        if half_degrees <= 2 * MOST_DEGREES and not said_twice and (side or not half_degrees):
            return _canonical(half_degrees, side)
    raise ValueError(
        f"{text!r} is no pitch: write degrees up or down, 0 to 30 in halves, as in 8 up or 2.5 down"
    )


def _speak(value: str, region: Region) -> tuple[str, ...]:
    number, _, side = value.partition(" ")
    whole, half, _ = number.partition(".")
    words = cardinal_words(int(whole))
    if half:
        words += ("point" if region == "faa" else "decimal", "five")
    return (*words, "degree" if number == "1" else "degrees", *(("nose", side) if side else ()))


def _show(value: str) -> str:
    number, _, side = value.partition(" ")
    return f"{number}° nose {side}" if side else f"{number}°"


TYPES = (SlotType("pitch", _form(), _tidy, _speak, _show, finish=_finish, spellings=_spellings),)
