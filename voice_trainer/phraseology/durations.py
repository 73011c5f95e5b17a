"""Durations: minutes and seconds, one second to an hour less one second.

'One minute fifteen', 'one plus fifteen' and 'seventy five seconds' are the same duration (common practice);
canonical text is minutes and seconds, '1:15'.
"""

from __future__ import annotations

import re

from voice_trainer.phraseology.forms import Form, either, one_of, perhaps, say, silent, then
from voice_trainer.phraseology.numerals import DIGITS, and_word, any_digits, cardinal_words, digit, pair
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

NOT_ZERO = "123456789"


def _form() -> Form:
    below_ten = digit(NOT_ZERO)
    below_sixty = either(
        below_ten, pair(range(10, 60)), then(digit("12345"), digit()), then(say("zero", "0"), digit(NOT_ZERO))
    )
    minutes = then(
        either(below_ten, pair(range(10, 60)), then(digit("12345"), digit())),
        either(say("minutes", "m"), say("minute", "m")),
    )
    after_minutes = either(
        silent(""),
        say("and a half", "30s"),
        say("flat", "0s"),
        say("and a quarter", "15s"),
        say("and three quarters", "45s"),
        then(perhaps("and", "plus"), below_sixty, silent("s"), perhaps("seconds", "second")),
    )
    hundreds = then(
        digit("12345"),
        say("hundred", ""),
        either(
            silent("00"),
            then(and_word(), pair(range(10, 100))),
            then(and_word(), silent("0"), digit(NOT_ZERO)),
        ),
    )
    seconds = then(
        either(
            below_ten,
            pair(range(10, 100)),
            hundreds,
            then(digit(NOT_ZERO), digit()),
            then(digit("12345"), any_digits(2)),
        ),
        either(say("seconds", "s"), say("second", "s")),
    )
    two_digits = either(
        pair(range(10, 60)), then(digit("12345"), digit()), then(say("zero", "0"), digit(NOT_ZERO))
    )
    plus = then(
        either(
            then(below_ten, say("plus", "m"), either(two_digits, say("zero zero", "0"))),
            then(say("zero plus", ""), two_digits),
        ),
        silent("s"),
        perhaps("seconds"),
    )
    fractions = then(
        one_of((DIGITS[n], f"{n}m") for n in range(1, 10)),
        one_of(
            (
                ("and a half", "30s"), ("and one half", "30s"), ("and a quarter", "15s"),
                ("and one quarter", "15s"), ("and three quarters", "45s"),
            )
        ),
        say("minutes", ""),
    )  # fmt: skip
    tenths = then(
        either(one_of((DIGITS[n], f"{n}m") for n in range(10)), silent("0m")),
        either(say("point", ""), say("decimal", "")),
        one_of((DIGITS[n], f"{6 * n}s") for n in range(1, 10)),
        either(say("minutes", ""), say("minute", "")),
    )
    named = either(
        one_of(
            (
                ("half a minute", "30s"), ("half minute", "30s"), ("a half minute", "30s"),
                ("a quarter of a minute", "15s"), ("three quarters of a minute", "45s"),
                ("minute and a half", "90s"),
            )
        ),
        then(say("a minute", "1m"), after_minutes),
    )  # fmt: skip
    clock_reading = then(
        below_ten,
        silent("m"),
        either(pair(range(10, 60)), then(say("zero", ""), digit(NOT_ZERO))),
        silent("s"),
    )
    return either(then(minutes, after_minutes), seconds, plus, fractions, tenths, named, clock_reading)


def _canonical(seconds: int) -> str:
    return f"{seconds // 60}:{seconds % 60:02d}"


def seconds_of(value: str) -> int:
    """The seconds of a canonical duration: '1:15' is 75."""
    minutes, _, seconds = value.partition(":")
    return int(minutes) * 60 + int(seconds)


def _finish(text: str) -> str | None:
    matched = re.fullmatch(r"(?:(\d+)m)?(?:(\d+)s)?", text)
    if matched is None:
        return None
    total = int(matched[1] or 0) * 60 + int(matched[2] or 0)
    return _canonical(total) if 1 <= total < 3600 else None


def _spellings(value: str) -> tuple[str, ...]:
    total = seconds_of(value)
    minutes, seconds = divmod(total, 60)
    in_minutes = (
        f"{minutes}m{seconds}s",
        f"{minutes}m{seconds:02d}s",
        *(() if seconds else (f"{minutes}m",)),
    )
    return (*in_minutes, f"{total}s", f"{total:02d}s")


def _tidy(text: str) -> str:
    total = None
    if matched := re.fullmatch(r"([0-9]{1,2}):([0-5][0-9])", text):
        total = int(matched[1]) * 60 + int(matched[2])
    elif matched := re.fullmatch(r"([0-9]{1,4}) ?(?:s|sec|seconds?)", text):
        total = int(matched[1])
    elif matched := re.fullmatch(r"([0-9]{1,2}) ?(?:min|minutes?)", text):
        total = int(matched[1]) * 60
    if total is None or not 1 <= total < 3600:
        raise ValueError(f"{text!r} is no duration: write 0:01 to 59:59, as in 1:15 or 75 s")
    return _canonical(total)


def _speak(value: str, _region: Region) -> tuple[str, ...]:
    minutes, seconds = divmod(seconds_of(value), 60)
    words: tuple[str, ...] = ()
    if minutes:
        words = (*cardinal_words(minutes), "minute" if minutes == 1 else "minutes")
    if seconds:
        words += (*cardinal_words(seconds), "second" if seconds == 1 else "seconds")
    return words


TYPES = (
    SlotType("duration", _form(), _tidy, _speak, lambda value: value, finish=_finish, spellings=_spellings),
)
