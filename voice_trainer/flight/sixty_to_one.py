"""The 60:1 rule: one degree is one mile wide at 60 miles, and climbs 100 feet a mile. CNATRA P-871 App. C."""

from __future__ import annotations

import math

from voice_trainer.flight.turns import METRES_PER_FOOT, METRES_PER_NM

FEET_PER_NM = METRES_PER_NM / METRES_PER_FOOT


def radials_per_nm(dme_nm: float) -> float:
    """How many degrees of radial one nautical mile covers at this distance. Raises ValueError at the station."""
    if not dme_nm > 0.0:
        raise ValueError(f"radials have no width at {dme_nm:g} DME: give a distance above 0")
    return 60.0 / dme_nm


def width_nm(degrees: float, dme_nm: float) -> float:
    """How many nautical miles apart two radials are, by the rule; exactly, along the arc, 4.7 % more."""
    return degrees * dme_nm / 60.0


def gradient_feet_per_nm(degrees: float) -> float:
    """Feet a mile by the rule: 100 for every degree."""
    return 100.0 * degrees


def exact_gradient_feet_per_nm(degrees: float) -> float:
    """Feet a mile exactly: the tangent of the angle; 106 for one degree."""
    return FEET_PER_NM * math.tan(math.radians(degrees))
