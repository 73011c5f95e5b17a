"""Altitudes, heights, minimums and flight levels.

Altitude: thousands digit by digit, then hundreds (AIM 4-2-9a): 12,500 is 'one two thousand five hundred'; a
value that is no whole hundred is said in separate digits, as Annex 10 Volume II 5.2.1.4.1 has it for numbers
without whole hundreds. Minimums: separate digits, FAA Order JO 7110.65 2-4-17 ('minimum descent altitude,
one three two zero'); thousands and hundreds are understood without a remark (common practice). Flight level:
three digits (AIM 4-2-9b, Annex 10 Volume II 5.2.1.4.1); whole hundreds as 'two hundred' are the wording of CAP 413
and are understood as well. Height, in feet above the ground or above minimums: like an altitude, but below a
hundred as people count, 'fifty' (common practice: callouts of a radio altimeter).
"""

from __future__ import annotations

from voice_trainer.phraseology.forms import Form, either, perhaps, say, silent, then
from voice_trainer.phraseology.numerals import (
    and_word,
    any_digits,
    cardinal_words,
    digit,
    grouped,
    pair,
    separate,
    spoken_digits,
)
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

NOT_ZERO = "123456789"
ROUND_TENS = range(10, 100, 10)


def _feet(text: str) -> str:
    """'2,600', '2 600 ft' and '2600 feet' to '2600'."""
    return text.removesuffix("feet").removesuffix("ft").strip().replace(",", "").replace(" ", "")


def below_a_thousand(tens: Form) -> Form:
    """'five hundred', 'five hundred [and] fifty'; three digits."""
    return then(digit(NOT_ZERO), say("hundred", ""), either(silent("00"), then(and_word(), tens)))


def thousands(most: int) -> Form:
    """'two', 'one two', or in groups 'twelve', up to `most` thousand; then 'thousand'."""
    top = most // 10
    numbers: list[Form] = (
        [digit(NOT_ZERO), then(digit("123456789"[: top - 1]), digit())] if top > 1 else [digit(NOT_ZERO)]
    )
    numbers.append(then(digit(str(top)), digit("0123456789"[: most % 10 + 1])))
    numbers.append(grouped(pair(range(10, most + 1))))
    return then(either(*numbers), say("thousand", ""))


def hundreds_in_tens() -> Form:
    """'five hundred', 'five hundred fifty', 'five hundred five zero'; three digits, the last one a zero."""
    return below_a_thousand(either(pair(ROUND_TENS), then(digit(NOT_ZERO), say("zero", "0"))))


def after_thousand_in_tens() -> Form:
    """What may follow 'thousand': nothing, hundreds, or tens alone; three digits, the last one a zero."""
    return either(silent("000"), hundreds_in_tens(), then(silent("0"), and_word(), pair(ROUND_TENS)))


def _altitude_form() -> Form:
    digits = either(
        then(digit(NOT_ZERO), digit(), say("zero", "0")),
        then(digit(NOT_ZERO), any_digits(2), say("zero", "0")),
        then(digit("12345"), any_digits(3), say("zero", "0")),
        say("six zero zero zero zero", "60000"),
    )
    return then(
        either(
            then(thousands(59), after_thousand_in_tens()),
            then(either(say("six zero", "60"), grouped(say("sixty", "60"))), say("thousand", "000")),
            hundreds_in_tens(),
            grouped(then(pair(n for n in range(11, 100) if n % 10), say("hundred", "00"))),
            separate(digits),
        ),
        perhaps("feet"),
    )


def _tidy_altitude(text: str) -> str:
    feet = _feet(text)
    if feet.isascii() and feet.isdigit() and 100 <= int(feet) <= 60000 and int(feet) % 10 == 0:
        return str(int(feet))
    raise ValueError(f"{text!r} is no altitude: write feet in tens, 100 to 60,000, as in 2600 or 2,600")


def in_hundreds(value: str, _region: Region = "faa") -> tuple[str, ...]:
    """Whole hundreds in thousands and hundreds, any other number digit by digit."""
    feet = int(value)
    if feet % 100:
        return spoken_digits(value)
    words: tuple[str, ...] = ()
    if feet >= 1000:
        words = (*spoken_digits(str(feet // 1000)), "thousand")
    if feet % 1000:
        words += (*spoken_digits(str(feet % 1000 // 100)), "hundred")
    return words


def _height_form() -> Form:
    below_a_hundred = either(pair(ROUND_TENS), then(digit(NOT_ZERO), say("zero", "0")))
    digits = either(
        then(digit(NOT_ZERO), digit(), say("zero", "0")),
        then(digit(NOT_ZERO), any_digits(2), say("zero", "0")),
    )
    return then(
        either(
            below_a_hundred,
            hundreds_in_tens(),
            then(digit(NOT_ZERO), say("thousand", ""), after_thousand_in_tens()),
            grouped(then(pair(n for n in range(11, 100) if n % 10), say("hundred", "00"))),
            separate(digits),
        ),
        perhaps("feet"),
    )


def _tidy_height(text: str) -> str:
    feet = _feet(text)
    if feet.isascii() and feet.isdigit() and 10 <= int(feet) <= 9990 and int(feet) % 10 == 0:
        return str(int(feet))
    raise ValueError(f"{text!r} is no height: write feet in tens, 10 to 9,990, as in 500")


def _speak_height(value: str, _region: Region) -> tuple[str, ...]:
    return cardinal_words(int(value)) if int(value) < 100 else in_hundreds(value)


def any_hundreds() -> Form:
    """'eight hundred', 'eight hundred [and] twenty five', 'eight hundred two zero'; three digits."""
    tens = either(pair(range(10, 100)), then(silent("0"), digit(NOT_ZERO)))
    return below_a_thousand(either(tens, then(digit(NOT_ZERO), say("zero", "0"))))


def after_thousand() -> Form:
    """What may follow 'thousand': nothing, hundreds, or what is below a hundred; three digits."""
    tens = either(pair(range(10, 100)), then(silent("0"), digit(NOT_ZERO)))
    return either(silent("000"), any_hundreds(), then(silent("0"), and_word(), tens))


def _minimums_form() -> Form:
    digits = either(
        then(digit(NOT_ZERO), any_digits(2)),
        then(digit(NOT_ZERO), any_digits(3)),
        then(say("one", "1"), any_digits(4)),
    )
    in_groups = either(
        then(digit(NOT_ZERO), pair(range(10, 100))),
        then(pair(n for n in range(10, 100) if n % 10), say("hundred", "00")),
        then(pair(range(10, 100)), pair(range(10, 100))),
    )
    return then(
        either(digits, any_hundreds(), then(thousands(19), after_thousand()), grouped(in_groups)),
        perhaps("feet"),
    )


def _tidy_minimums(text: str) -> str:
    feet = _feet(text)
    if feet.isascii() and feet.isdigit() and 100 <= int(feet) <= 19999:
        return str(int(feet))
    raise ValueError(f"{text!r} is no minimums: write feet, 100 to 19,999, as in 820 or 1,320")


def _level_form() -> Form:
    digits = either(
        then(say("zero", "0"), digit(NOT_ZERO), digit()),
        then(digit("12345"), any_digits(2)),
        say("six zero zero", "600"),
    )
    hundreds = then(digit("123456"), say("hundred", "00"))
    in_groups = then(digit("12345"), pair(range(10, 100)))
    return either(digits, hundreds, grouped(in_groups))


def _tidy_level(text: str) -> str:
    level = text.upper().removeprefix("FL").strip()
    if len(level) in (2, 3) and level.isascii() and level.isdigit() and 10 <= int(level) <= 600:
        return level.zfill(3)
    raise ValueError(f"{text!r} is no flight level: write hundreds of feet, 010 to 600, as in 190 or FL190")


def _digits(value: str, _region: Region) -> tuple[str, ...]:
    return spoken_digits(value)


def _show_feet(value: str) -> str:
    return f"{int(value):,} ft"


TYPES = (
    SlotType("altitude", _altitude_form(), _tidy_altitude, in_hundreds, _show_feet),
    SlotType("height", _height_form(), _tidy_height, _speak_height, _show_feet),
    SlotType("minimums", _minimums_form(), _tidy_minimums, _digits, _show_feet),
    SlotType("level", _level_form(), _tidy_level, _digits, lambda value: f"FL{value}"),
)
