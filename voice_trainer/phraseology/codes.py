"""Runways, transponder codes and spelled letters.

Runway: digits one by one; the FAA says no leading zero, 'runway nine left' (AIM 4-4-7b), ICAO says it,
'runway zero six' (CAP 413). Transponder code: four separate digits, 'squawk two four zero zero' (ICAO Annex
10 Volume II 5.2.1.4.1); whole thousands as 'seven thousand' are the wording of European texts and understood
as well.
Letters: the spelling alphabet of AIM table 4-2-2, in its spellings (alfa, juliett, xray).
"""

from __future__ import annotations

import re

from voice_trainer.phraseology.forms import Form, either, nested_repeat, one_of, say, silent, then
from voice_trainer.phraseology.numerals import digit, grouped, pair, spoken_digits
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

ALPHABET = (
    "alfa", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliett", "kilo",
    "lima", "mike", "november", "oscar", "papa", "quebec", "romeo", "sierra", "tango", "uniform", "victor",
    "whiskey", "xray", "yankee", "zulu",
)  # fmt: skip
"""The spelling alphabet in order, as the normaliser leaves its words."""

SIDES = {"L": "left", "R": "right", "C": "center"}
OCTAL = "01234567"


def spelled(letters: str) -> tuple[str, ...]:
    """Capital letters and digits one by one: 'K2' -> kilo two."""
    return tuple(
        word
        for each in letters
        for word in (spoken_digits(each) if each.isdigit() else (ALPHABET[ord(each) - ord("A")],))
    )


def letter() -> Form:
    """One word of the spelling alphabet."""
    return one_of((word, word[0].upper()) for word in ALPHABET)


def _runway_form() -> Form:
    number = either(
        digit("123456789"),
        then(say("zero", ""), digit("123456789")),
        then(digit("12"), digit()),
        then(say("three", "3"), digit("0123456")),
        grouped(pair(range(10, 37))),
    )
    return then(number, either(silent(""), one_of((word, side) for side, word in SIDES.items())))


def _tidy_runway(text: str) -> str:
    matched = re.fullmatch(r"([0-9]{1,2})([LRC]?)", text.upper())
    if matched is None or not 1 <= int(matched[1]) <= 36:
        raise ValueError(f"{text!r} is no runway: write 1 to 36, with L, R or C if it has one, as in 9L")
    return f"{int(matched[1])}{matched[2]}"


def _speak_runway(value: str, region: Region) -> tuple[str, ...]:
    number, side = (value[:-1], value[-1]) if value[-1] in SIDES else (value, "")
    digits = spoken_digits(number if region == "faa" else number.zfill(2))
    return (*digits, SIDES[side]) if side else digits


def _squawk_form() -> Form:
    octal_pairs = [tens * 10 + units for tens in range(1, 8) for units in range(8)]
    in_groups = either(
        then(pair(octal_pairs), either(pair(octal_pairs), then(say("zero", "0"), digit(OCTAL)))),
        then(digit(OCTAL), digit(OCTAL), pair(octal_pairs)),
        then(pair(n for n in octal_pairs if n % 10), say("hundred", "00")),
    )
    return either(
        then(*([digit(OCTAL)] * 4)), then(digit(OCTAL[1:]), say("thousand", "000")), grouped(in_groups)
    )


def _tidy_squawk(text: str) -> str:
    if re.fullmatch(r"[0-7]{4}", text):
        return text
    raise ValueError(f"{text!r} is no transponder code: write four digits, 0 to 7 each, as in 2403")


def _tidy_letters(text: str) -> str:
    if re.fullmatch(r"[A-Z]{1,5}", text.upper()):
        return text.upper()
    raise ValueError(f"{text!r} can't be spelled out: write one to five letters, as in KLD")


def _tidy_letter(text: str) -> str:
    """A capital letter or its word in any spelling to the word: 'B', 'Bravo' -> bravo."""
    word = text.lower()
    if re.fullmatch(r"[a-z]", word):
        return ALPHABET[ord(word) - ord("a")]
    word = {"alpha": "alfa", "juliet": "juliett", "whisky": "whiskey", "x-ray": "xray"}.get(word, word)
    if word in ALPHABET:
        return word
    raise ValueError(f"{text!r} is no letter: write one, A to Z, as in B")


LETTER = SlotType(
    "letter",
    one_of((word, word) for word in ALPHABET),
    _tidy_letter,
    lambda value, _region: (value,),
    lambda value: value,
)
"""One letter, as of ATIS information; its canonical text is its word, so that 'information bravo' written out
and 'information {letter: B}' are the same pattern."""

TYPES = (
    LETTER,
    SlotType("runway", _runway_form(), _tidy_runway, _speak_runway, lambda value: f"runway {value}"),
    SlotType(
        "squawk",
        _squawk_form(),
        _tidy_squawk,
        lambda value, _region: spoken_digits(value),
        lambda value: value,
    ),
    SlotType(
        "letters",
        nested_repeat(letter(), 1, 5),
        _tidy_letters,
        lambda value, _region: spelled(value),
        lambda value: value,
    ),
)
