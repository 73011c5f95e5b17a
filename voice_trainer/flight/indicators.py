"""Needles: how far they go over for how far off one is, which depends on the display.

Deviations keep the sign of `Vor.needle_degrees`: positive where the needle stands right. A scale is data; each
names where it was read. One degree is about 1 mile at 60 miles.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Unit = Literal["degrees", "nautical miles"]


@dataclass(frozen=True, slots=True)
class Scale:
    """A display's scale: the deviation of a full deflection, in its unit, and the dots up to there.

    Raises ValueError unless both are positive.
    """

    name: str
    full_scale: float
    dots: int
    unit: Unit = "degrees"

    def __post_init__(self) -> None:
        if not (math.isfinite(self.full_scale) and self.full_scale > 0.0 and self.dots > 0):
            raise ValueError(
                f"scale '{self.name}': full scale {self.full_scale:g} and {self.dots} dots must be positive"
            )

    @property
    def per_dot(self) -> float:
        """What one dot comes to, in the scale's unit."""
        return self.full_scale / self.dots

    def deflection(self, deviation: float) -> float:
        """Where the needle stands, from -1 (full left) to 1 (full right); it stops at the ends."""
        return max(-1.0, min(1.0, deviation / self.full_scale))

    def dots_off(self, deviation: float) -> float:
        """Where the needle stands in dots; it stops at the last."""
        return self.deflection(deviation) * self.dots

    def is_alive(self, deviation: float) -> bool:
        """Whether the needle has left its stop."""
        return abs(deviation) < self.full_scale

    def is_within(self, deviation: float, dots: float) -> bool:
        """Whether the needle is alive and at most so many dots from the centre."""
        return self.is_alive(deviation) and abs(self.dots_off(deviation)) <= dots


VOR_CIRCLE = Scale("VOR, circle and dots", full_scale=12.0, dots=6)
"""FAA-H-8083-15: full at 12 degrees or more; the outer edge of the centre circle is 2, each dot 2 more. The
edge of the circle counts as the first dot."""

VOR_FIVE_DOTS = Scale("VOR, five dots", full_scale=10.0, dots=5)
"""Five dots of 2 degrees: tutorials."""

HSI_TWO_DOTS = Scale("HSI, two dots", full_scale=10.0, dots=2)
"""10 degrees, 5 a dot: notes to AFMAN 11-217."""

RNAV_TERMINAL = Scale("RNAV, terminal", full_scale=1.0, dots=2, unit="nautical miles")
"""Linear, 1 mile either side: AIM 1-1-17; from memory, as is the number of dots."""

RNAV_APPROACH = Scale("RNAV, approach", full_scale=0.3, dots=2, unit="nautical miles")
"""Linear, 0.3 miles either side: AIM 1-1-17; from memory, as is the number of dots."""

GLIDEPATH = Scale("glidepath", full_scale=0.7, dots=2)
"""A beam 1.4 degrees thick: AIM 1-1-9; from memory, as is the number of dots."""

SCALES = (VOR_CIRCLE, VOR_FIVE_DOTS, HSI_TWO_DOTS, RNAV_TERMINAL, RNAV_APPROACH, GLIDEPATH)
"""Every scale that is the same everywhere. A localizer's is its own: `Localizer.scale`."""


def localizer_scale(width_degrees: float, dots: int = 2) -> Scale:
    """The scale of a localizer: full deflection is half its course width.

    Two dots are from memory. Raises ValueError unless the width is positive.
    """
    return Scale("localizer", full_scale=width_degrees / 2.0, dots=dots)


def is_sensitivity_usual(scale: Scale) -> bool:
    """Whether a VOR display passes the check of its course sensitivity.

    From the centre to the last dot the selector turns 10 to 12 degrees: read as an excerpt of FAA text.
    """
    return scale.unit == "degrees" and 10.0 <= scale.full_scale <= 12.0


def offset_nm(deviation_degrees: float, distance_nm: float) -> float:
    """Miles off the course line at a distance from the station, right positive for a positive deviation."""
    return distance_nm * math.sin(math.radians(deviation_degrees))
