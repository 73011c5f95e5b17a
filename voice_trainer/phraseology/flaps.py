"""Flap settings: named positions (up, takeoff, approach, half, landing, full) or degrees, 0 to 60.

Said as people count, 'flaps ten'; separate digits are as good (common practice; not spoken on the radio). The
word 'flaps' is the author's: 'flaps {flap: approach}', '{flap: approach} flaps'.
"""

from __future__ import annotations

from voice_trainer.phraseology.forms import Form, either, one_of, perhaps, say, then
from voice_trainer.phraseology.numerals import cardinal_words, digit, pair
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

POSITIONS = ("up", "takeoff", "approach", "half", "landing", "full")
MOST_DEGREES = 60


def _form() -> Form:
    degrees = either(digit(), pair(range(10, 61)), then(digit("12345"), digit()), say("six zero", "60"))
    return either(
        one_of((position, position) for position in POSITIONS),
        then(degrees, perhaps("degrees", "degree")),
    )


def _tidy(text: str) -> str:
    plain = " ".join(text.lower().replace("°", " ").split())
    plain = (
        plain.removesuffix("degrees").strip().replace("take off", "takeoff").replace("take-off", "takeoff")
    )
    if plain in POSITIONS:
        return plain
    if plain.isascii() and plain.isdigit() and int(plain) <= MOST_DEGREES:
        return str(int(plain))
    raise ValueError(
        f"{text!r} is no flap setting: write {', '.join(POSITIONS)}, or degrees, 0 to 60, as in 10"
    )


def _speak(value: str, _region: Region) -> tuple[str, ...]:
    return cardinal_words(int(value)) if value.isdigit() else (value,)


def _show(value: str) -> str:
    return f"flaps {value}"


TYPES = (SlotType("flap", _form(), _tidy, _speak, _show),)
