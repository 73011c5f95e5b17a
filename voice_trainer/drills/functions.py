"""What an expression can call: the arithmetic of the trade.

Directions are degrees, speeds knots, distances nautical miles, durations seconds. Numbers are exact fractions;
what comes out of an angle is exact to a millionth. A value is a number, or a text such as 'left'.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import floor

from voice_trainer.flight import wind

Value = Fraction | str

HALF_CIRCLE = 180


class FunctionError(ValueError):
    """A function that can't be worked out for these values: what, and what to do."""

    def __init__(self, what: str, advice: str) -> None:
        super().__init__(f"{what}; {advice}")
        self.what = what
        self.advice = advice


@dataclass(frozen=True, slots=True)
class Function:
    """A function: how it is written, how many values it takes at least and at most, and what it comes to."""

    written: str
    least: int
    most: int
    compute: Callable[..., Value]

    def takes(self, count: int) -> bool:
        """Whether it can be called with so many values."""
        return self.least <= count <= self.most

    def apply(self, values: Sequence[Value]) -> Value:
        """What it comes to. Raises FunctionError."""
        for value in values:
            if isinstance(value, str):
                what = f"nothing can be computed with the text '{value}'"
                raise FunctionError(what, "give numbers without quotes and leading zeros")
        return self.compute(*values)


def _wrap(degrees: Fraction) -> Fraction:
    return degrees % 360 or Fraction(360)


def _reciprocal(course: Fraction) -> Fraction:
    return _wrap(course + HALF_CIRCLE)


def _turn(start: Fraction, end: Fraction) -> Fraction:
    """The shorter turn in degrees, to the right positive."""
    degrees = (end - start) % 360
    return degrees - 360 if degrees > HALF_CIRCLE else degrees


def _side(start: Fraction, end: Fraction) -> str:
    degrees = _turn(start, end)
    if degrees in (0, HALF_CIRCLE):
        what = f"from {_plain(start)} to {_plain(end)} no way is shorter"
        raise FunctionError(what, "draw the values so that this can't happen")
    return "right" if degrees > 0 else "left"


def _round(number: Fraction, multiple: Fraction = Fraction(1)) -> Fraction:
    """The nearest multiple, half of one upwards."""
    if multiple <= 0:
        raise FunctionError(
            f"nothing is rounded to multiples of {_plain(multiple)}", "give a number above zero"
        )
    return floor(number / multiple + Fraction(1, 2)) * multiple


def _seconds(distance_nm: Fraction, groundspeed_knots: Fraction) -> Fraction:
    if groundspeed_knots <= 0:
        what = f"a leg can't be timed at {_plain(groundspeed_knots)} knots over the ground"
        raise FunctionError(what, "give a groundspeed above zero")
    return 3600 * distance_nm / groundspeed_knots


def _triangle(course: Fraction, airspeed: Fraction, wind_from: Fraction, knots: Fraction) -> wind.Triangle:
    try:
        return wind.drift_correction(
            float(course), float(airspeed), wind.Wind(float(wind_from), float(knots))
        )
    except wind.WindError as error:
        raise FunctionError(str(error), "draw less wind, or more airspeed") from None


def _groundspeed(*values: Fraction) -> Fraction:
    return _millionths(_triangle(*values).groundspeed_knots)


def _drift(*values: Fraction) -> Fraction:
    return _millionths(_triangle(*values).correction_degrees)


def _wind(direction: Fraction, knots: Fraction) -> str:
    """The text of a {wind: ...} slot."""
    if direction.denominator > 1 or knots.denominator > 1:
        raise FunctionError("a wind is told in whole degrees and knots", "round both")
    return f"{int(direction):03d}/{int(knots)}"


ENTRY_TOLERANCE_DEGREES = 5
"""Within so much of a sector's end either entry is right (ICAO Doc 8168, from memory; AIM 5-3-8)."""


def _entry(heading: Fraction, inbound: Fraction, turns: Fraction) -> str:
    """How a hold is entered, by the heading at its fix: AIM 5-3-8, its 70 degree line.

    `turns` is 1 for right turns and -1 for left ones. Where the outbound course is up to 70 degrees to the side of the
    turns: teardrop; up to 110 to the other: parallel; else direct.
    """
    if abs(turns) != 1:
        raise FunctionError(
            f"{_plain(turns)} is no side of a hold", "give 1 for right turns, -1 for left ones"
        )
    outbound = _turn(heading, _reciprocal(inbound)) * turns
    if any(abs(outbound - end) <= ENTRY_TOLERANCE_DEGREES for end in (0, 70, -110)):
        what = f"heading {_plain(heading)} is within {ENTRY_TOLERANCE_DEGREES} degrees of two entries"
        raise FunctionError(what, "draw the values so that this can't happen")
    if 0 < outbound < 70:
        return "teardrop"
    return "parallel" if -110 < outbound < 0 else "direct"


def _millionths(number: float) -> Fraction:
    return Fraction(round(number * 1_000_000), 1_000_000)


def _plain(number: Fraction) -> str:
    return f"{float(number):g}"


_MANY = 20

FUNCTIONS = {
    "reciprocal": Function("reciprocal(course)", 1, 1, _reciprocal),
    "wrap": Function("wrap(degrees), into 001 to 360", 1, 1, _wrap),
    "turn": Function("turn(from, to), the degrees of the shorter turn, left negative", 2, 2, _turn),
    "side": Function("side(from, to), left or right", 2, 2, _side),
    "round": Function("round(number) or round(number, multiple)", 1, 2, _round),
    "abs": Function("abs(number)", 1, 1, abs),
    "min": Function("min(a, b)", 2, _MANY, min),
    "max": Function("max(a, b)", 2, _MANY, max),
    "seconds": Function("seconds(distance, groundspeed)", 2, 2, _seconds),
    "groundspeed": Function("groundspeed(course, airspeed, wind_from, wind_knots)", 4, 4, _groundspeed),
    "drift": Function(
        "drift(course, airspeed, wind_from, wind_knots), the correction in degrees, right positive",
        4,
        4,
        _drift,
    ),
    "entry": Function(
        "entry(heading, inbound, turns), direct, teardrop or parallel, turns 1 for right and -1 for left",
        3,
        3,
        _entry,
    ),
    "wind": Function("wind(from, knots)", 2, 2, _wind),
}
"""All functions by name. The wind triangle is that of `voice_trainer.flight.wind`."""
