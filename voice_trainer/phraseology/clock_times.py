"""Times of day: four separate digits, 0000 to 2359 (AIM 4-2-12: 0920 is 'zero niner two zero')."""

from __future__ import annotations

from voice_trainer.phraseology.forms import Form, either, perhaps, say, then
from voice_trainer.phraseology.numerals import digit, grouped, pair, spoken_digits
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType


def _form() -> Form:
    minutes = then(digit("012345"), digit())
    hours = either(then(digit("01"), digit()), then(say("two", "2"), digit("0123")))
    hours_grouped = either(pair(range(10, 24)), then(say("zero", "0"), digit()))
    in_groups = either(
        then(pair(range(10, 24)), either(minutes, pair(range(10, 60)), say("hundred", "00"))),
        then(hours_grouped, pair(range(10, 60))),
        then(hours, pair(range(10, 60))),
    )
    return then(either(then(hours, minutes), grouped(in_groups)), perhaps("zulu", "utc"))


def _tidy(text: str) -> str:
    time = text.upper().removesuffix("Z").replace(":", "")
    if len(time) == 4 and time.isascii() and time.isdigit() and int(time[:2]) < 24 and int(time[2:]) < 60:
        return time
    raise ValueError(f"{text!r} is no time: write four digits, 0000 to 2359, as in 0920")


def _speak(value: str, _region: Region) -> tuple[str, ...]:
    return spoken_digits(value)


TYPES = (SlotType("time", _form(), _tidy, _speak, lambda value: value),)
