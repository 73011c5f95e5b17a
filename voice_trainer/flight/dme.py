"""Distance measuring equipment: it measures along the slant, and a station has a cone overhead.

Heights are feet above the station, distances nautical miles. The earth is flat. Plain geometry, but for the
angle of the cone.
"""

from __future__ import annotations

import math

from voice_trainer.flight.descent import FEET_PER_NM

CONE_DEGREES = 50.0
"""Half the angle of a VOR's cone, from the vertical: ICAO PANS-OPS; from memory. A setting, since real cones
vary."""


def slant_range_nm(ground_range_nm: float, height_feet: float) -> float:
    """What the indicator reads at a distance over the ground. Raises ValueError for a negative distance."""
    if not ground_range_nm >= 0.0:
        raise ValueError(f"a distance is 0 miles or more, not {ground_range_nm}")
    return math.hypot(ground_range_nm, height_feet / FEET_PER_NM)


def ground_range_nm(slant_range_nm: float, height_feet: float) -> float:
    """The distance over the ground of a reading.

    Raises ValueError for a reading less than the height alone: nowhere is that near.
    """
    height_nm = abs(height_feet) / FEET_PER_NM
    if not slant_range_nm >= height_nm:
        raise ValueError(
            f"{height_feet:g} feet above the station no reading is less than {height_nm:.2f} miles, "
            f"not even {slant_range_nm:g}"
        )
    return math.sqrt((slant_range_nm - height_nm) * (slant_range_nm + height_nm))


def cone_radius_nm(height_feet: float, cone_degrees: float = CONE_DEGREES) -> float:
    """How far from overhead the cone reaches at this height; 0 at and below the station.

    `cone_degrees` is from the vertical. Raises ValueError outside [0, 90).
    """
    if not 0.0 <= cone_degrees < 90.0:
        raise ValueError(f"a cone opens by 0 up to 90 degrees from the vertical, not {cone_degrees}")
    return max(0.0, height_feet) / FEET_PER_NM * math.tan(math.radians(cone_degrees))


def is_in_cone(ground_range_nm: float, height_feet: float, cone_degrees: float = CONE_DEGREES) -> bool:
    """Whether the indications mean nothing here: nearer to overhead than the cone's radius."""
    return ground_range_nm < cone_radius_nm(height_feet, cone_degrees)
