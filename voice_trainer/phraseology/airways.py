"""Airways: a letter and a number, 'V12', 'J533', 'UL607'.

FAA: the number in groups, 'Victor Twelve', 'J Five Thirty-Three' (AIM 4-2-8c). ICAO: the spelling alphabet and
separate digits, 'alfa one', 'upper lima six zero seven' (Annex 10 Volume II 5.2.1.4.1, numbers, and ICAO Doc 9432,
both from memory). Each is understood in either region, with a remark where it is not the standard one.
"""

from __future__ import annotations

import re
import string

from voice_trainer.phraseology.codes import ALPHABET
from voice_trainer.phraseology.forms import Form, either, one_of, say, silent, then
from voice_trainer.phraseology.numerals import (
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
LETTERS = string.ascii_uppercase.replace("U", "")
"""'U' only stands before another letter, for an upper airway."""

BY_ITSELF = "JQT"
"""Letters that the FAA says as letters; AIM 4-2-8c prints 'J', the others are from memory."""


def _form() -> Form:
    name = either(
        one_of((ALPHABET[ord(each) - ord("A")], each) for each in LETTERS),
        one_of((each.lower(), each) for each in BY_ITSELF),
    )
    digits = either(then(digit(NOT_ZERO), digit()), then(digit(NOT_ZERO), any_digits(2)))
    in_groups = either(
        pair(range(10, 100)),
        then(digit(NOT_ZERO), pair(range(10, 100))),
        then(digit(NOT_ZERO), say("hundred", "00")),
    )
    number = either(digit(NOT_ZERO), separate(digits), grouped(in_groups))
    return then(either(silent(""), say("upper", "U")), name, number)


def _tidy(text: str) -> str:
    matched = re.fullmatch(r"(U?[A-TV-Z])-?([1-9][0-9]{0,2})", text.upper())
    if matched is None:
        raise ValueError(f"{text!r} is no airway: write its letter and number, as in V12 or J533")
    return matched[1] + matched[2]


def _number(number: str, region: Region) -> tuple[str, ...]:
    if region == "icao" or len(number) == 1 or (len(number) == 3 and number[1] == "0" and number[2] != "0"):
        return spoken_digits(number)
    if len(number) == 2 or number.endswith("00"):
        return cardinal_words(int(number))
    return (*spoken_digits(number[0]), *cardinal_words(int(number[1:])))


def _speak(value: str, region: Region) -> tuple[str, ...]:
    letters = value.rstrip(string.digits)
    letter = letters[-1]
    word = letter.lower() if region == "faa" and letter in BY_ITSELF else ALPHABET[ord(letter) - ord("A")]
    upper = ("upper",) if len(letters) > 1 else ()
    return (*upper, word, *_number(value[len(letters) :], region))


TYPES = (SlotType("airway", _form(), _tidy, _speak, lambda value: value),)
