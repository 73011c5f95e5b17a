"""A localizer: a course line whose width is tailored to its runway.

The antenna stands beyond the far end of the runway. Flat earth, courses magnetic.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from voice_trainer.flight.courses import reciprocal
from voice_trainer.flight.descent import FEET_PER_NM
from voice_trainer.flight.indicators import Scale, localizer_scale
from voice_trainer.flight.vor import Vor

WIDTH_AT_THRESHOLD_FEET = 700.0
"""From full left to full right, over the threshold: AIM 1-1-9; from memory."""

NARROWEST_DEGREES, WIDEST_DEGREES = 3.0, 6.0
"""A course is made no narrower and no wider than this: AIM 1-1-9; from memory."""


def tailored_width_degrees(
    threshold_distance_nm: float, width_feet: float = WIDTH_AT_THRESHOLD_FEET, limited: bool = True
) -> float:
    """The whole course width that is `width_feet` wide over the threshold.

    `threshold_distance_nm` is from the antenna to the threshold. `limited` keeps it from 3 to 6 degrees.
    Raises ValueError unless both lengths are positive.
    """
    if not (threshold_distance_nm > 0.0 and width_feet > 0.0):
        raise ValueError(
            f"a localizer {threshold_distance_nm} miles from its threshold, {width_feet} feet wide there: "
            "give more than 0 for both"
        )
    half = math.atan2(width_feet / 2.0, threshold_distance_nm * FEET_PER_NM)
    width = math.degrees(2.0 * half)
    return min(max(width, NARROWEST_DEGREES), WIDEST_DEGREES) if limited else width


@dataclass(frozen=True, slots=True)
class Localizer:
    """A localizer with its antenna at a place; `course_degrees` is the inbound, front course.

    Raises ValueError unless the threshold is in front of the antenna.
    """

    ident: str
    east_nm: float
    north_nm: float
    course_degrees: float
    threshold_distance_nm: float

    def __post_init__(self) -> None:
        tailored_width_degrees(self.threshold_distance_nm)

    @property
    def width_degrees(self) -> float:
        """The whole course width, tailored to the threshold."""
        return tailored_width_degrees(self.threshold_distance_nm)

    @property
    def threshold(self) -> tuple[float, float]:
        """Where the threshold is, miles east and north of the origin."""
        return self._antenna.place(reciprocal(self.course_degrees), self.threshold_distance_nm)

    @property
    def _antenna(self) -> Vor:
        return Vor(self.ident, self.east_nm, self.north_nm)

    def scale(self, dots: int = 2) -> Scale:
        """The display's scale on this localizer."""
        return localizer_scale(self.width_degrees, dots)

    def deviation_degrees(self, east_nm: float, north_nm: float) -> float:
        """Degrees off the course line, seen from the antenna; the selector makes no difference.

        Positive: the course lies to the right of somebody who flies the front course inbound, and the needle
        stands right. Beyond the antenna the sides are those of the back course flown outbound.
        """
        return self._antenna.needle_degrees(east_nm, north_nm, self.course_degrees)

    def is_on_front_course(self, east_nm: float, north_nm: float) -> bool:
        """Whether the place is on the approach side of the antenna."""
        return self._antenna.flag(east_nm, north_nm, self.course_degrees) == "TO"

    def threshold_distance_from_nm(self, east_nm: float, north_nm: float) -> float:
        """Miles to the threshold along the course, negative once it is passed: what a glidepath counts in."""
        at_east, at_north = self.threshold
        angle = math.radians(self.course_degrees)
        return (at_east - east_nm) * math.sin(angle) + (at_north - north_nm) * math.cos(angle)
