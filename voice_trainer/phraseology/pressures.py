"""Altimeter settings: inches of mercury (altimeter) and hectopascals (QNH).

Inches: four digits, the point omitted, 'altimeter two niner niner two' (FAA Order JO 7110.65 2-4-17).
Hectopascals: separate digits, 'one zero one zero' (ICAO Annex 10 Volume II 5.2.1.4.1); 1000 as 'one thousand'
is the wording of European texts and is understood as well.
"""

from __future__ import annotations

from voice_trainer.phraseology.forms import Form, Styled, either, perhaps, say, silent, then
from voice_trainer.phraseology.numerals import and_word, any_digits, digit, grouped, pair, spoken_digits
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType


def _altimeter_form() -> Form:
    no_point = silent("")
    point = Styled(either(say("point", ""), say("decimal", "")), "the point is left out")
    between = either(no_point, point)
    inches = either(then(say("two", "2"), digit("89")), say("three zero", "30"))
    last_two = either(pair(range(10, 100)), then(say("zero", "0"), digit()))
    return either(
        then(inches, between, any_digits(2)),
        then(say("three one", "31"), between, say("zero zero", "00")),
        grouped(then(pair((28, 29, 30)), between, last_two)),
        grouped(then(inches, between, pair(range(10, 100)))),
        grouped(say("thirty one zero zero", "3100")),
    )


def _tidy_altimeter(text: str) -> str:
    figures = text.replace(".", "", 1)
    if len(figures) == 4 and figures.isascii() and figures.isdigit() and 2800 <= int(figures) <= 3100:
        return f"{figures[:2]}.{figures[2:]}"
    raise ValueError(f"{text!r} is no altimeter setting: write inches, 28.00 to 31.00, as in 29.92")


def _speak_altimeter(value: str, _region: Region) -> tuple[str, ...]:
    return spoken_digits(value.replace(".", ""))


def _qnh_form() -> Form:
    last_two = either(pair(range(10, 100)), then(say("zero", "0"), digit()))
    digits = either(
        then(say("eight", "8"), digit("56789"), digit()),
        then(say("nine", "9"), any_digits(2)),
        then(say("one zero", "10"), any_digits(2)),
    )
    in_groups = either(
        then(say("eight", "8"), pair(range(50, 100))),
        then(say("nine", "9"), pair(range(10, 100))),
        then(say("ten", "10"), last_two),
        then(say("one zero", "10"), pair(range(10, 100))),
        then(
            say("one thousand", "10"),
            and_word(),
            either(pair(range(10, 100)), then(silent("0"), digit("123456789"))),
        ),
    )
    return then(either(digits, say("one thousand", "1000"), grouped(in_groups)), perhaps("hectopascals"))


def _tidy_qnh(text: str) -> str:
    if text.isascii() and text.isdigit() and 850 <= int(text) <= 1099:
        return str(int(text))
    raise ValueError(f"{text!r} is no QNH: write hectopascals, 850 to 1099, as in 1013")


def _speak_qnh(value: str, _region: Region) -> tuple[str, ...]:
    return spoken_digits(value)


TYPES = (
    SlotType(
        "altimeter",
        _altimeter_form(),
        _tidy_altimeter,
        _speak_altimeter,
        lambda value: value,
        finish=lambda text: f"{text[:2]}.{text[2:]}",
        spellings=lambda value: (value.replace(".", ""),),
    ),
    SlotType("qnh", _qnh_form(), _tidy_qnh, _speak_qnh, lambda value: f"QNH {value}"),
)
