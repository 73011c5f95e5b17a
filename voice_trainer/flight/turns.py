"""Coordinated level turns: bank, rate and radius, by the exact relation tan(bank) = speed x rate / g."""

from __future__ import annotations

import math
from typing import Literal

BankRule = Literal["fifteen percent", "a tenth plus seven"]
RollOutRule = Literal["a third of the bank", "half the bank"]

STANDARD_RATE_DEGREES_PER_SECOND = 3.0
GRAVITY_METRES_PER_SECOND_SQUARED = 9.80665
METRES_PER_NM = 1852.0
METRES_PER_FOOT = 0.3048

GRAVITY_KNOTS_PER_SECOND = GRAVITY_METRES_PER_SECOND_SQUARED * 3600.0 / METRES_PER_NM


def bank_for_rate(
    airspeed_knots: float, rate_degrees_per_second: float = STANDARD_RATE_DEGREES_PER_SECOND
) -> float:
    """Degrees of bank that turns at this rate; standard rate, 3 degrees a second, unless told otherwise."""
    return math.degrees(
        math.atan(math.radians(rate_degrees_per_second) * airspeed_knots / GRAVITY_KNOTS_PER_SECOND)
    )


def rate_for_bank(airspeed_knots: float, bank_degrees: float) -> float:
    """Degrees of heading a second, right positive. Raises ValueError unless the airspeed is positive."""
    _check_moving(airspeed_knots)
    return math.degrees(GRAVITY_KNOTS_PER_SECOND * math.tan(math.radians(bank_degrees)) / airspeed_knots)


def radius_nm(airspeed_knots: float, bank_degrees: float) -> float:
    """The radius of the turn in nautical miles, in still air. Raises ValueError when wings are level."""
    if bank_degrees == 0.0:
        raise ValueError("with the wings level there is no turn, and no radius")
    pull = GRAVITY_KNOTS_PER_SECOND * 3600.0 * abs(math.tan(math.radians(bank_degrees)))
    return airspeed_knots**2 / pull


def roll_out_lead(airspeed_knots: float, bank_degrees: float, roll_rate_degrees_per_second: float) -> float:
    """Degrees of heading that still go by while the wings are rolled level at a constant rate.

    The exact integral of the turn rate over the roll; the rule of thumb, a third of the bank (CNATRA P-765
    s.504), is what it comes to at about 5 degrees a second. Raises ValueError unless it moves.
    """
    _check_moving(airspeed_knots)
    roll = math.radians(roll_rate_degrees_per_second)
    spent = -math.log(math.cos(math.radians(bank_degrees)))
    return math.degrees(GRAVITY_KNOTS_PER_SECOND / airspeed_knots * spent / roll)


def bank_for_roll_out(
    airspeed_knots: float, remaining_degrees: float, roll_rate_degrees_per_second: float
) -> float:
    """The steepest bank from which the wings still come level within `remaining_degrees` of heading.

    The inverse of `roll_out_lead`; degrees of bank, never negative.
    """
    roll = math.radians(roll_rate_degrees_per_second)
    spent = math.radians(abs(remaining_degrees)) * airspeed_knots * roll / GRAVITY_KNOTS_PER_SECOND
    return math.degrees(math.acos(math.exp(-spent)))


def bank_by_rule(airspeed_knots: float, rule: BankRule) -> float:
    """Degrees of bank for standard rate, by rule of thumb; `bank_for_rate` is exact.

    'fifteen percent': of the airspeed (FAA Instrument Flying Handbook: divide by ten, add half of it). 'a tenth plus
    seven': a tenth of the airspeed plus 7 (common practice).
    """
    return 0.15 * airspeed_knots if rule == "fifteen percent" else airspeed_knots / 10.0 + 7.0


def fastest_for_bank(
    bank_degrees: float, rate_degrees_per_second: float = STANDARD_RATE_DEGREES_PER_SECOND
) -> float:
    """The true airspeed, knots, above which this rate takes more than this bank. The inverse of `bank_for_rate`."""
    pull = GRAVITY_KNOTS_PER_SECOND * math.tan(math.radians(bank_degrees))
    return pull / math.radians(rate_degrees_per_second)


def radius_at_rate_nm(
    groundspeed_knots: float, rate_degrees_per_second: float = STANDARD_RATE_DEGREES_PER_SECOND
) -> float:
    """The radius of a turn at this rate in nautical miles: speed over rate; at standard rate V / (60 pi).

    Raises ValueError unless the rate is positive.
    """
    if not rate_degrees_per_second > 0.0:
        raise ValueError(f"a turn needs a rate above 0, not {rate_degrees_per_second:g} degrees a second")
    return groundspeed_knots / 3600.0 / math.radians(rate_degrees_per_second)


def radius_by_rule_nm(groundspeed_knots: float, *, half_rate: bool = False) -> float:
    """The radius by rule of thumb: 0.5 % of the groundspeed at standard rate, 1 % at half of it.

    Source: CNATRA P-340 Fig. 6-60; CNATRA P-1204 p. 76 for half rate.
    """
    return groundspeed_knots * (0.01 if half_rate else 0.005)


def roll_out_lead_by_rule(bank_degrees: float, rule: RollOutRule = "a third of the bank") -> float:
    """Degrees before the heading at which the roll-out begins, by rule of thumb; `roll_out_lead` is exact.

    A third of the bank: CNATRA P-765 s.504, AFMAN 11-217V1 2.4.2.2. Half of it: FAA Instrument Flying Handbook
    (from memory).
    """
    return abs(bank_degrees) / (3.0 if rule == "a third of the bank" else 2.0)


def _check_moving(airspeed_knots: float) -> None:
    if not airspeed_knots > 0.0:
        raise ValueError(f"a turn needs a positive airspeed, not {airspeed_knots:g} knots")
