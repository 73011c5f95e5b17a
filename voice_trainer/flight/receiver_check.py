"""The check of a VOR receiver that flight under instrument rules asks for: 14 CFR 91.171 (2005, and reprints)."""

from __future__ import annotations

from typing import Literal

from voice_trainer.flight.courses import signed_difference
from voice_trainer.flight.vor import Flag

Check = Literal["test signal", "ground checkpoint", "airborne checkpoint", "dual"]

VALID_DAYS = 30
"""A check counts for the 30 days before the flight."""

TOLERANCE_DEGREES: dict[Check, float] = {
    "test signal": 4.0,
    "ground checkpoint": 4.0,
    "airborne checkpoint": 6.0,
    "dual": 4.0,
}
"""How far the receiver may be off; 'dual' is how far two of them may differ."""

STATION_ACCURACY_DEGREES = 1.0
"""How exact a station's courses are in general: AIM 1-1-3."""

TEST_SIGNAL_COURSES_DEGREES: dict[Flag, float] = {"FROM": 360.0, "TO": 180.0}
"""Where a test signal centres the needle, everywhere: AIM 1-1-4."""


def is_within_limits(check: Check, selected_degrees: float, expected_degrees: float) -> bool:
    """Whether the needle centres near enough to where it should; for 'dual', to the other receiver's."""
    return abs(signed_difference(expected_degrees, selected_degrees)) <= TOLERANCE_DEGREES[check]


def is_current(days_since_check: float) -> bool:
    """Whether a check still counts. Raises ValueError for one that is yet to come."""
    if not days_since_check >= 0.0:
        raise ValueError(f"a check is 0 days old or more, not {days_since_check}")
    return days_since_check <= VALID_DAYS
