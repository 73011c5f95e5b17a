"""Rates of climb and descent in feet per minute; which of the two it is, is a word of the pattern.

Said like an altitude: 'seven hundred', 'one thousand two hundred'; a value that is no whole hundred in separate
digits (Annex 10 Volume II 5.2.1.4.1; AIM 4-2-8), 'five five five'. 'Five hundred fifty five' is understood without
a remark (common practice).
"""

from __future__ import annotations

from voice_trainer.phraseology.forms import Form, either, perhaps, say, then
from voice_trainer.phraseology.heights import NOT_ZERO, after_thousand, any_hundreds, in_hundreds
from voice_trainer.phraseology.numerals import any_digits, digit, grouped, pair, separate
from voice_trainer.phraseology.slots import SlotType


def _form() -> Form:
    digits = either(
        then(digit("56789"), digit()),
        then(digit(NOT_ZERO), any_digits(2)),
        then(digit("12345"), any_digits(3)),
        say("six zero zero zero", "6000"),
    )
    in_groups = either(
        pair(range(50, 100)),
        then(digit(NOT_ZERO), pair(range(10, 100))),
        then(pair(n for n in range(11, 60) if n % 10), say("hundred", "00")),
        then(pair(range(10, 60)), pair(range(10, 100))),
    )
    return then(
        either(
            any_hundreds(),
            then(digit("12345"), say("thousand", ""), after_thousand()),
            say("six thousand", "6000"),
            separate(digits),
            grouped(in_groups),
        ),
        perhaps("feet per minute", "feet a minute"),
    )


def _tidy(text: str) -> str:
    rate = text.removesuffix("fpm").removesuffix("feet per minute").removesuffix("ft/min")
    rate = rate.strip().replace(",", "").replace(" ", "")
    if rate.isascii() and rate.isdigit() and 50 <= int(rate) <= 6000:
        return str(int(rate))
    raise ValueError(f"{text!r} is no rate: write feet per minute, 50 to 6,000, as in 700")


TYPES = (SlotType("rate", _form(), _tidy, in_hundreds, lambda value: f"{int(value):,} fpm"),)
