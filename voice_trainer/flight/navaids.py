"""Navaids and waypoints, and what one receiver shows of them.

Every indicator comes down to one number, the deflection of its needle in parts of full scale: angular for a VOR
or a localizer, linear for a waypoint. 'Alive' is less than the whole of it, 'established' no more than half.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from voice_trainer.flight.courses import normalise_degrees, signed_difference
from voice_trainer.flight.vor import Flag, Vor

Kind = Literal["vor", "vor/dme", "tacan", "localizer", "ils", "waypoint"]

FEET_PER_NM = 1852.0 / 0.3048

VOR_FULL_SCALE_DEGREES = 10.0
"""Five dots of two degrees, a common course deviation indicator; other displays differ."""

LOCALIZER_FULL_SCALE_DEGREES = 2.5
"""A course 5 degrees wide from full left to full right: within the 3 to 6 degrees of AIM 1-1-9b (from memory)."""

HALF_WIDTH_AT_THRESHOLD_NM = 350.0 / FEET_PER_NM
"""A course is tailored to be 700 feet wide at the threshold: AIM 1-1-9b (from memory)."""

WAYPOINT_FULL_SCALE_NM = 1.0
"""Terminal mode of a satellite navigator: AIM 1-1-17 (from memory)."""

GLIDEPATH_FULL_SCALE_DEGREES = 0.7
"""The glidepath is 1.4 degrees from full up to full down: AIM 1-1-9d (from memory)."""

DOTS = 2.0
"""Dots from the middle to full scale, of a localizer and of a glidepath (common practice)."""

SAME_COURSE_DEGREES = 1.5
"""A localizer has one course; this near to it, in whole degrees, a course is that one or its reciprocal."""


@dataclass(frozen=True, slots=True)
class Navaid(Vor):
    """A navaid or a waypoint on the flat earth; directions are magnetic.

    A localizer and an ils have a `front_course_degrees` and stand `threshold_distance_nm` beyond the threshold; an
    ils has a glidepath that touches down there, at `threshold_elevation_feet`. `full_scale_nm` is a waypoint's.
    Raises ValueError for a localizer without a course or an ils without its glidepath.
    """

    kind: Kind = "vor"
    name: str = ""
    frequency: str | None = None
    front_course_degrees: float | None = None
    threshold_distance_nm: float | None = None
    glidepath_degrees: float | None = None
    threshold_elevation_feet: float | None = None
    full_scale_nm: float = WAYPOINT_FULL_SCALE_NM

    def __post_init__(self) -> None:
        if self.is_localizer and self.front_course_degrees is None:
            raise ValueError(f"{self.ident}: a {self.kind} needs its front course")
        glidepath = (self.glidepath_degrees, self.threshold_elevation_feet, self.threshold_distance_nm)
        if self.kind == "ils" and None in glidepath:
            raise ValueError(f"{self.ident}: an ils needs its glidepath and its threshold")
        if not self.full_scale_nm > 0.0:
            raise ValueError(f"{self.ident}: full scale must be more than 0 miles")

    @property
    def is_localizer(self) -> bool:
        """Whether it gives one course only, whatever is selected."""
        return self.kind in ("localizer", "ils")

    @property
    def has_dme(self) -> bool:
        """Whether its distance is the slant one, from the aeroplane's height."""
        return self.kind in ("vor/dme", "tacan")

    @property
    def full_scale_degrees(self) -> float:
        """Degrees of full deflection, of everything but a waypoint."""
        if not self.is_localizer:
            return VOR_FULL_SCALE_DEGREES
        if self.threshold_distance_nm is None:
            return LOCALIZER_FULL_SCALE_DEGREES
        tailored = math.degrees(math.atan(HALF_WIDTH_AT_THRESHOLD_NM / self.threshold_distance_nm))
        return min(3.0, max(1.5, tailored))

    def is_called(self, name: str) -> bool:
        """Whether this is its ident or its name, in letters of any size."""
        return name.upper() in (self.ident, self.name.upper())

    def is_on(self, frequency: str) -> bool:
        """Whether this is its frequency; zeros at the end make no difference: 109.90 is 109.9."""
        return self.frequency is not None and _short(self.frequency) == _short(frequency)

    def shown_distance_nm(self, east_nm: float, north_nm: float, altitude_feet: float) -> float:
        """Miles as the panel shows them: slant for a DME, which is taken to stand at sea level."""
        ground = self.distance_nm(east_nm, north_nm)
        return math.hypot(ground, altitude_feet / FEET_PER_NM) if self.has_dme else ground

    def used_course_degrees(self, selected_degrees: float) -> float:
        """The course that the needle stands for: a localizer's own, whatever is selected."""
        return selected_degrees if self.front_course_degrees is None else self.front_course_degrees

    def deflection(self, east_nm: float, north_nm: float, course_degrees: float) -> float | None:
        """The needle in parts of full scale, right positive (the course lies to the right), seen along the course.

        None where it gives no such course: of a localizer, any but its own and the reciprocal of it.
        """
        if self.front_course_degrees is not None:
            off = abs(signed_difference(self.front_course_degrees, course_degrees))
            if SAME_COURSE_DEGREES < off < 180.0 - SAME_COURSE_DEGREES:
                return None
            course_degrees = normalise_degrees(
                self.front_course_degrees + (0.0 if off <= SAME_COURSE_DEGREES else 180.0)
            )
        if self.kind == "waypoint":
            return -self.right_of_course_nm(east_nm, north_nm, course_degrees) / self.full_scale_nm
        return self.needle_degrees(east_nm, north_nm, course_degrees) / self.full_scale_degrees

    def shown_flag(self, east_nm: float, north_nm: float, selected_degrees: float) -> Flag:
        """TO or FROM; of a localizer TO on the approach side of it."""
        return self.flag(east_nm, north_nm, self.used_course_degrees(selected_degrees))

    def right_of_course_nm(self, east_nm: float, north_nm: float, course_degrees: float) -> float:
        """How far a place lies to the right of the line on that course through this one."""
        angle = math.radians(course_degrees)
        return (east_nm - self.east_nm) * math.cos(angle) - (north_nm - self.north_nm) * math.sin(angle)

    def glidepath_feet(self, east_nm: float, north_nm: float) -> float | None:
        """The altitude of the glidepath over a place; None where there is none, and beyond the threshold."""
        if (
            self.glidepath_degrees is None
            or self.front_course_degrees is None
            or self.threshold_distance_nm is None
            or self.threshold_elevation_feet is None
        ):
            return None
        before = self._before_threshold_nm(east_nm, north_nm)
        if before <= 0.0:
            return None
        rise = math.tan(math.radians(self.glidepath_degrees))
        return self.threshold_elevation_feet + before * FEET_PER_NM * rise

    def glidepath_deflection(self, east_nm: float, north_nm: float, altitude_feet: float) -> float | None:
        """How far above (positive) the glidepath it is, in parts of full scale; None as in `glidepath_feet`."""
        path = self.glidepath_feet(east_nm, north_nm)
        if path is None or self.glidepath_degrees is None or self.threshold_elevation_feet is None:
            return None
        run = self._before_threshold_nm(east_nm, north_nm) * FEET_PER_NM
        angle = math.degrees(math.atan2(altitude_feet - self.threshold_elevation_feet, run))
        return (angle - self.glidepath_degrees) / GLIDEPATH_FULL_SCALE_DEGREES

    def _before_threshold_nm(self, east_nm: float, north_nm: float) -> float:
        angle = math.radians(self.front_course_degrees or 0.0)
        beyond = (east_nm - self.east_nm) * math.sin(angle) + (north_nm - self.north_nm) * math.cos(angle)
        return -beyond - (self.threshold_distance_nm or 0.0)


def _short(frequency: str) -> str:
    return frequency.rstrip("0").rstrip(".") if "." in frequency else frequency
