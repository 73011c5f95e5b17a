"""A glidepath: a straight beam up from the runway.

Altitudes are feet above sea level, distances nautical miles along the course from the threshold. The beam
comes up from the ground a little beyond the threshold, so that it crosses it at the crossing height. Over a
curved earth a straight beam gains on the ground: some 90 feet at 10 miles. A drill's earth is flat, and so is
every default here; a chart's altitudes count the curve.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from voice_trainer.flight.descent import FEET_PER_NM
from voice_trainer.flight.indicators import GLIDEPATH, Scale

EARTH_RADIUS_FEET = 20_890_537.0
"""The radius that FAA Order 8260.3 reckons with; from memory."""

CROSSING_HEIGHT_FEET = 50.0
"""A usual height over the threshold; common practice."""


@dataclass(frozen=True, slots=True)
class Glidepath:
    """A beam. `curved` counts the curve of the earth. Raises ValueError for an angle outside (0, 90) degrees,
    and for a negative crossing height."""

    degrees: float = 3.0
    threshold_elevation_feet: float = 0.0
    crossing_height_feet: float = CROSSING_HEIGHT_FEET
    curved: bool = False

    def __post_init__(self) -> None:
        if not (0.0 < self.degrees < 90.0 and self.crossing_height_feet >= 0.0):
            raise ValueError(
                f"a glidepath of {self.degrees} degrees, {self.crossing_height_feet} feet over the threshold: "
                "give an angle of 0 to 90 and a height of 0 or more"
            )

    @property
    def origin_nm(self) -> float:
        """How far beyond the threshold the beam meets the ground."""
        return self.crossing_height_feet / (FEET_PER_NM * math.tan(self._angle))

    def altitude_feet(self, distance_nm: float) -> float:
        """The altitude on the beam.

        Raises ValueError beyond the beam's origin, and so far away that a curved earth has no answer.
        """
        along = self._along_feet(distance_nm)
        if not self.curved:
            return self.threshold_elevation_feet + along * math.tan(self._angle)
        arc = along / EARTH_RADIUS_FEET
        # A straight line from the ground: by the law of sines in the triangle with the centre of the earth.
        ground = EARTH_RADIUS_FEET + self.threshold_elevation_feet
        if self._angle + arc >= math.pi / 2.0:
            raise ValueError(
                f"{distance_nm:g} miles is more than a beam of {self.degrees:g} degrees goes round"
            )
        return ground * math.cos(self._angle) / math.cos(self._angle + arc) - EARTH_RADIUS_FEET

    def intercept_distance_nm(self, altitude_feet: float) -> float:
        """How far out the beam comes down to an altitude: where it is met in level flight.

        Negative below the crossing height. Raises ValueError at and below the threshold's elevation.
        """
        if not altitude_feet > self.threshold_elevation_feet:
            raise ValueError(
                f"{altitude_feet:g} feet is not above the threshold, at {self.threshold_elevation_feet:g}: "
                "no glidepath is met there"
            )
        if self.curved:
            ground = EARTH_RADIUS_FEET + self.threshold_elevation_feet
            share = ground * math.cos(self._angle) / (EARTH_RADIUS_FEET + altitude_feet)
            along = (math.acos(share) - self._angle) * EARTH_RADIUS_FEET
        else:
            along = (altitude_feet - self.threshold_elevation_feet) / math.tan(self._angle)
        return along / FEET_PER_NM - self.origin_nm

    def deviation_degrees(self, distance_nm: float, altitude_feet: float) -> float:
        """Degrees above the beam (negative: below it), seen from where it meets the ground.

        Raises ValueError beyond the beam's origin.
        """
        along = self._along_feet(distance_nm)
        if self.curved:
            arc = along / EARTH_RADIUS_FEET
            height = EARTH_RADIUS_FEET + altitude_feet
            ground = EARTH_RADIUS_FEET + self.threshold_elevation_feet
            angle = math.atan2(height * math.cos(arc) - ground, height * math.sin(arc))
        else:
            angle = math.atan2(altitude_feet - self.threshold_elevation_feet, along)
        return math.degrees(angle) - self.degrees

    def dots_above(self, distance_nm: float, altitude_feet: float, scale: Scale = GLIDEPATH) -> float:
        """Dots above the beam, at most the scale's; the needle stands so many dots low."""
        return scale.dots_off(self.deviation_degrees(distance_nm, altitude_feet))

    @property
    def _angle(self) -> float:
        return math.radians(self.degrees)

    def _along_feet(self, distance_nm: float) -> float:
        along = (distance_nm + self.origin_nm) * FEET_PER_NM
        if not along > 0.0:
            raise ValueError(
                f"no glidepath {-distance_nm:g} miles beyond the threshold: it meets the ground at {self.origin_nm:.3g}"
            )
        return along
