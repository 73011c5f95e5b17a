"""Gradients, and the rates of climb and descent that hold them.

Rates are feet a minute, gradients feet a nautical mile over the ground, both positive whichever way it goes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise
from types import MappingProxyType
from typing import Literal

from voice_trainer.flight.turns import METRES_PER_FOOT, METRES_PER_NM

DescentRule = Literal["exact", "318 feet a mile", "five times groundspeed", "published table"]

FEET_PER_NM = METRES_PER_NM / METRES_PER_FOOT

RULE_OF_THUMB_FEET_PER_NM = 318.0
"""Three degrees, as FAA Order 8260.3 is quoted; exactly it is 318.44."""

STANDARD_CLIMB_FEET_PER_NM = 200.0
"""The least climb of a missed approach that charts none: AIM 5-4-21b."""

COPTER_CLIMB_FEET_PER_NM = 400.0
"""The same for a helicopter-only approach: AIM 5-4-21b."""

RATE_TOLERANCE = 0.10
"""How far two of the rules may lie apart, as a part of the wanted rate. House value: no publication has one."""

PUBLISHED_RATES_FPM: Mapping[float, Mapping[int, int]] = MappingProxyType(
    {
        2.5: MappingProxyType({90: 395, 120: 530}),
        3.0: MappingProxyType(
            {60: 320, 75: 395, 90: 480, 105: 555, 120: 635, 135: 715, 150: 795, 165: 875, 180: 955}
        ),
        3.5: MappingProxyType({90: 555, 120: 740}),
    }
)
"""Degrees to groundspeed in knots to feet a minute: the FAA chart supplement's table, as a textbook reprints
it. Of 2.5 and 3.5 degrees only these columns were read."""


def gradient_feet_per_nm(degrees: float) -> float:
    """The gradient of a path at this angle. Raises ValueError outside [0, 90) degrees."""
    if not 0.0 <= degrees < 90.0:
        raise ValueError(f"a path slopes by 0 up to 90 degrees, not {degrees}")
    return FEET_PER_NM * math.tan(math.radians(degrees))


def gradient_degrees(feet_per_nm: float) -> float:
    """The angle of a gradient, in degrees. Raises ValueError below zero."""
    if not (math.isfinite(feet_per_nm) and feet_per_nm >= 0.0):
        raise ValueError(f"a gradient is 0 feet a mile or more, not {feet_per_nm}")
    return math.degrees(math.atan(feet_per_nm / FEET_PER_NM))


def gradient_between(high_feet: float, low_feet: float, distance_nm: float) -> float:
    """Feet a mile from one altitude to another, negative for a climb. Raises ValueError without distance."""
    if not distance_nm > 0.0:
        raise ValueError(f"a gradient needs a distance of more than 0 miles, not {distance_nm}")
    return (high_feet - low_feet) / distance_nm


def vertical_rate_fpm(feet_per_nm: float, groundspeed_knots: float) -> float:
    """Feet a minute that keep a gradient, up or down. Raises ValueError unless the groundspeed is positive."""
    _check_moving(groundspeed_knots)
    return feet_per_nm * groundspeed_knots / 60.0


def gradient_of_rate(rate_fpm: float, groundspeed_knots: float) -> float:
    """The gradient in feet a mile that a vertical rate comes to: the inverse of `vertical_rate_fpm`."""
    _check_moving(groundspeed_knots)
    return rate_fpm * 60.0 / groundspeed_knots


def rate_of_descent_fpm(groundspeed_knots: float, degrees: float = 3.0, rule: DescentRule = "exact") -> float:
    """Feet a minute that keep a descent angle, positive downwards.

    'exact' by the tangent; '318 feet a mile' as groundspeed x 318 / 60; 'five times groundspeed' is CNATRA
    P-804's; 'published table' lies on the straight line between two columns of the printed one. The second
    and the third are for 3 degrees only. Raises ValueError for another angle, outside the table, and unless
    the groundspeed is positive.
    """
    _check_moving(groundspeed_knots)
    if rule == "exact":
        return vertical_rate_fpm(gradient_feet_per_nm(degrees), groundspeed_knots)
    if rule == "published table":
        return _published(groundspeed_knots, degrees)
    if degrees != 3.0:
        raise ValueError(f"'{rule}' is a rule for 3 degrees, not for {degrees:g}")
    if rule == "318 feet a mile":
        return vertical_rate_fpm(RULE_OF_THUMB_FEET_PER_NM, groundspeed_knots)
    return 5.0 * groundspeed_knots


def is_about_rate(said_fpm: float, wanted_fpm: float, tolerance: float = RATE_TOLERANCE) -> bool:
    """Whether a rate is the wanted one whichever rule it was found by: within a part of it."""
    return abs(said_fpm - wanted_fpm) <= tolerance * abs(wanted_fpm)


def _published(groundspeed_knots: float, degrees: float) -> float:
    table = PUBLISHED_RATES_FPM.get(degrees)
    if table is None:
        have = ", ".join(f"{angle:g}" for angle in PUBLISHED_RATES_FPM)
        raise ValueError(f"the published table is for {have} degrees, not {degrees:g}")
    for slower, faster in pairwise(table):
        if slower <= groundspeed_knots <= faster:
            part = (groundspeed_knots - slower) / (faster - slower)
            return table[slower] + part * (table[faster] - table[slower])
    raise ValueError(
        f"the published table of {degrees:g} degrees is for {min(table)} to {max(table)} knots, "
        f"not {groundspeed_knots:g}"
    )


def _check_moving(groundspeed_knots: float) -> None:
    if not (math.isfinite(groundspeed_knots) and groundspeed_knots > 0.0):
        raise ValueError(f"a vertical rate needs a positive groundspeed, not {groundspeed_knots:g} knots")
