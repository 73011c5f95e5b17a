"""Computed numbers as the text of a slot: 95 is the heading '095', 75 the duration '1:15'."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from voice_trainer.drills.expressions import ExpressionError
from voice_trainer.drills.functions import Value
from voice_trainer.phraseology.counting import counted
from voice_trainer.phraseology.slots import slot_type

_DIRECTIONS = ("heading", "course", "radial", "bearing")
_FIGURES = {"level": 3, "squawk": 4}
"""Types whose values are written with leading zeros, and how many figures they have."""

_DECIMALS = {"frequency": 3, "altimeter": 2, "mach": 2, "distance": 1, "pitch": 1}
_ALL_DECIMALS = ("altimeter", "mach")
_IN_THOUSANDS = ("altitude", "height", "minimums", "rate")

_WORDS = re.compile(r"[^\W\d_]+(?:[ '’-][^\W\d_]+)*")


def slot_text(label: str, value: Value, fixes: Sequence[str] = ()) -> str:
    """The canonical text of `value` in a slot of the type `label`.

    Numbers are degrees, feet, knots, nautical miles, and so on as an author writes them; a duration is in seconds,
    a time in minutes after midnight. Raises ExpressionError for what is no legal value, and UnknownSlotTypeError.
    """
    kind = slot_type(label)
    if kind.declare is not None and fixes:
        kind = slot_type(kind.declare(fixes))
    written = value if isinstance(value, str) else _written(label, value)
    try:
        return kind.canonical(written)
    except ValueError as error:
        what, _, advice = str(error).partition(": ")
        if label in _DIRECTIONS and isinstance(value, Fraction):
            advice = f"use wrap(...): {advice}"
        raise ExpressionError(what, advice or "draw other values") from None


def shown_text(label: str, value: Value, fixes: Sequence[str] = ()) -> str:
    """The same value as it is read in a reason: '333', '2,600', '1:15'."""
    text = slot_text(label, value, fixes)
    return f"{int(text):,}" if label in _IN_THOUSANDS and text.isdigit() else text


def plain_text(value: Value) -> str:
    """A value that is of no type, as it is read: '45', '0.5'. Raises ExpressionError."""
    return value if isinstance(value, str) else _decimal(value, 3)


def word_text(value: Value) -> str:
    """A value that stands for words which are spoken. Raises ExpressionError for a number."""
    if isinstance(value, str) and _WORDS.fullmatch(value):
        return value
    shown = f"'{value}'" if isinstance(value, str) else _shown(value)
    raise ExpressionError(f"{shown} is no word", "give numbers a type, as in {heading: =course}")


def _written(label: str, number: Fraction) -> str:
    if label == "duration":
        seconds = _whole(number)
        return f"{seconds // 60}:{seconds % 60:02d}" if seconds >= 0 else str(seconds)
    if label == "time":
        minutes = _whole(number)
        return f"{minutes // 60:02d}{minutes % 60:02d}" if minutes >= 0 else str(minutes)
    if label in _DIRECTIONS:
        return f"{_whole(number):03d}"
    if label in _FIGURES:
        return f"{_whole(number):0{_FIGURES[label]}d}"
    if label in _DECIMALS:
        written = _decimal(number, _DECIMALS[label])
        if label == "pitch":
            return f"{'+' if number > 0 else ''}{written}"
        if label in _ALL_DECIMALS:
            whole, _, decimals = written.partition(".")
            return f"{whole}.{decimals.ljust(2, '0')}"
        return written
    return str(_whole(number))


def _whole(number: Fraction) -> int:
    if number.denominator != 1:
        raise ExpressionError(f"{_shown(number)} is no whole number", "round it: round(...)")
    return int(number)


def _decimal(number: Fraction, decimals: int) -> str:
    scaled = number * 10**decimals
    if scaled.denominator != 1:
        what = f"{_shown(number)} has more than {counted(decimals, 'decimal')}"
        raise ExpressionError(what, f"round it: round(..., {10**-decimals:g})")
    whole, rest = divmod(abs(int(scaled)), 10**decimals)
    sign = "-" if number < 0 else ""
    return f"{sign}{whole}.{rest:0{decimals}d}".rstrip("0").rstrip(".")


def _shown(number: Fraction) -> str:
    return f"{float(number):.10g}"
