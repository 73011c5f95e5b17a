"""Minimums: what warns of them, whose they are, and what it takes to go below them.

Altitudes are feet above sea level, heights feet above touchdown.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Category = Literal["A", "B", "C", "D", "E"]

CATEGORY_SPEEDS_KNOTS: Mapping[Category, float] = MappingProxyType(
    {"A": 0.0, "B": 91.0, "C": 121.0, "D": 141.0, "E": 166.0}
)
"""The slowest speed of each category: Pilot/Controller Glossary."""

LIGHTS_ONLY_HEIGHT_FEET = 100.0
"""By approach lights alone, no lower than this above the touchdown zone: 14 CFR 91.175(c)(3)(i); from memory."""


@dataclass(frozen=True, slots=True)
class AlertRule:
    """A house's way to set a minimums alert. No publication has one.

    `sets` is what the alerter counts in: an altitude, or a height above touchdown. `plus_feet` is added, then
    it is rounded up to the next `round_up_to_feet`; what is a multiple already stays. Raises ValueError for
    a rounding of 0 or less.
    """

    sets: Literal["altitude", "height above touchdown"]
    plus_feet: float = 0.0
    round_up_to_feet: float | None = None

    def __post_init__(self) -> None:
        if self.round_up_to_feet is not None and not self.round_up_to_feet > 0.0:
            raise ValueError(f"round up to the next 10, 50 or 100 feet, not {self.round_up_to_feet}")


@dataclass(frozen=True, slots=True)
class Alert:
    """A minimums alert: what is set on the alerter, and the altitude at which it speaks."""

    set_feet: float
    altitude_feet: float


ALERT_RULES: Mapping[str, AlertRule | None] = MappingProxyType(
    {
        "none": None,
        "minimums": AlertRule("altitude"),
        "minimums plus 100 feet": AlertRule("altitude", plus_feet=100.0),
        "height above touchdown": AlertRule("height above touchdown"),
        "height above touchdown, next 10 feet": AlertRule("height above touchdown", round_up_to_feet=10.0),
        "height above touchdown, next 50 feet": AlertRule("height above touchdown", round_up_to_feet=50.0),
        "height above touchdown, next 100 feet": AlertRule("height above touchdown", round_up_to_feet=100.0),
    }
)
"""House rules by name."""


def alert(minimums_feet: float, touchdown_feet: float, rule: AlertRule | None) -> Alert | None:
    """Where the alert is set under a house's rule; None where it sets none.

    Raises ValueError for minimums that are not above touchdown.
    """
    if not minimums_feet > touchdown_feet:
        raise ValueError(
            f"minimums of {minimums_feet:g} feet are not above a touchdown elevation of {touchdown_feet:g}"
        )
    if rule is None:
        return None
    base = 0.0 if rule.sets == "altitude" else touchdown_feet
    wanted = minimums_feet - base + rule.plus_feet
    if rule.round_up_to_feet is not None:
        wanted = math.ceil(wanted / rule.round_up_to_feet) * rule.round_up_to_feet
    return Alert(wanted, wanted + base)


def category_by_speed(speed_knots: float) -> Category:
    """The approach category of a speed: A below 91, B below 121, C below 141, D below 166, then E.

    Raises ValueError for a negative speed. Source: Pilot/Controller Glossary.
    """
    if not (math.isfinite(speed_knots) and speed_knots >= 0.0):
        raise ValueError(f"a speed is 0 knots or more, not {speed_knots}")
    found: Category = "A"
    for category, slowest in CATEGORY_SPEEDS_KNOTS.items():
        if speed_knots >= slowest:
            found = category
    return found


def category_to_use(certificated: Category, speed_knots: float) -> Category:
    """Whose minimums hold: those of the speed flown where it is faster, and never those of a slower category.

    The aeroplane's own category is by its reference speed at the greatest landing weight: AIM 5-4-7a.
    """
    return max(certificated, category_by_speed(speed_knots))


@dataclass(frozen=True, slots=True)
class Sight:
    """What is known at the minimums. `reached_descent_point` is True where no point is published or found."""

    in_position_to_land: bool
    flight_visibility_met: bool
    runway_reference_seen: bool
    approach_lights_seen: bool = False
    red_bars_seen: bool = False
    reached_descent_point: bool = True


def lowest_feet(minimums_feet: float, touchdown_feet: float, sight: Sight) -> float:
    """The lowest altitude that is allowed now.

    Touchdown where the aeroplane can land from here by a normal descent, the flight visibility is what is
    required, and the runway environment is seen; by the approach lights alone 100 feet above touchdown, unless
    their red bars are seen; else the minimums. Source: 14 CFR 91.175(c), from memory; not before a visual
    descent point: AIM 5-4-5f.
    """
    if not (sight.in_position_to_land and sight.flight_visibility_met and sight.reached_descent_point):
        return minimums_feet
    if sight.runway_reference_seen or (sight.approach_lights_seen and sight.red_bars_seen):
        return touchdown_feet
    if sight.approach_lights_seen:
        return min(minimums_feet, touchdown_feet + LIGHTS_ONLY_HEIGHT_FEET)
    return minimums_feet


def is_missed_approach_turn_allowed(
    passed_missed_approach_point: bool, told_by_control: bool = False
) -> bool:
    """Whether a missed approach may turn yet.

    One that begins early climbs at once, but flies on to the missed approach point before it turns, unless
    control says otherwise: AIM 5-5-5a4 and 5-4-21.
    """
    return passed_missed_approach_point or told_by_control
