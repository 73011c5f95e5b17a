"""Times of day: four separate digits, 0000 to 2359 (AIM 4-2-12: 0920 is 'zero niner two zero').

A time check goes to the nearest quarter of a minute: 0929:10 is 'zero niner two niner and one-quarter' (AIM
4-2-12e); 'one half' and 'three quarters' are from memory. Canonical text: '0929', '0929:15', '0929:30', '0929:45'.
"""

from __future__ import annotations

import re

from voice_trainer.phraseology.forms import Form, either, one_of, perhaps, say, silent, then
from voice_trainer.phraseology.numerals import digit, grouped, pair, spoken_digits
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

QUARTERS = {":15": "and one quarter", ":30": "and one half", ":45": "and three quarters"}
ALSO_SAID = {":15": "and a quarter", ":30": "and a half"}


def _form() -> Form:
    minutes = then(digit("012345"), digit())
    hours = either(then(digit("01"), digit()), then(say("two", "2"), digit("0123")))
    hours_grouped = either(pair(range(10, 24)), then(say("zero", "0"), digit()))
    in_groups = either(
        then(pair(range(10, 24)), either(minutes, pair(range(10, 60)), say("hundred", "00"))),
        then(hours_grouped, pair(range(10, 60))),
        then(hours, pair(range(10, 60))),
    )
    quarter = one_of((words, text) for said in (QUARTERS, ALSO_SAID) for text, words in said.items())
    return then(
        either(then(hours, minutes), grouped(in_groups)), either(silent(""), quarter), perhaps("zulu", "utc")
    )


def _tidy(text: str) -> str:
    matched = re.fullmatch(r"([01][0-9]|2[0-3]):?([0-5][0-9])(?::([0-5][0-9]))?Z?", text.upper())
    if matched is None:
        raise ValueError(f"{text!r} is no time: write four digits, 0000 to 2359, as in 0920, or 0929:10")
    # Less than 8 seconds of a quarter belong to the one before, the rest to the one after (AIM 4-2-12e).
    quarters = (int(matched[3] or 0) + 7) // 15
    minutes = (int(matched[1]) * 60 + int(matched[2]) + quarters // 4) % (24 * 60)
    seconds = f":{quarters % 4 * 15}" if quarters % 4 else ""
    return f"{minutes // 60:02d}{minutes % 60:02d}{seconds}"


def _speak(value: str, _region: Region) -> tuple[str, ...]:
    time, colon, seconds = value.partition(":")
    return (*spoken_digits(time), *(QUARTERS[colon + seconds].split() if colon else ()))


TYPES = (SlotType("time", _form(), _tidy, _speak, lambda value: value),)
