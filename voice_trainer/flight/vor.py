"""A VOR station, and what a receiver with a course selector shows of it.

Nothing here depends on the aeroplane's heading: an indicator knows where the aeroplane is, not where it
points.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from voice_trainer.flight.courses import normalise_degrees

Flag = Literal["TO", "FROM"]


@dataclass(frozen=True, slots=True)
class Vor:
    """A station at a place on the flat earth. Its radials are magnetic."""

    ident: str
    east_nm: float = 0.0
    north_nm: float = 0.0

    def place(self, radial_degrees: float, distance_nm: float) -> tuple[float, float]:
        """The point on a radial, nautical miles east and north of the origin."""
        angle = math.radians(radial_degrees)
        return self.east_nm + distance_nm * math.sin(angle), self.north_nm + distance_nm * math.cos(angle)

    def distance_nm(self, east_nm: float, north_nm: float) -> float:
        """How far away the station is, over the ground."""
        return math.hypot(east_nm - self.east_nm, north_nm - self.north_nm)

    def radial_degrees(self, east_nm: float, north_nm: float) -> float:
        """The radial that the place is on; right over the station, 360."""
        angle = math.atan2(east_nm - self.east_nm, north_nm - self.north_nm)
        return normalise_degrees(math.degrees(angle))

    def bearing_to_degrees(self, east_nm: float, north_nm: float) -> float:
        """The bearing from the place to the station."""
        return normalise_degrees(self.radial_degrees(east_nm, north_nm) + 180.0)

    def flag(self, east_nm: float, north_nm: float, course_degrees: float) -> Flag:
        """Whether the selected course leads towards the station or away from it; FROM when exactly abeam."""
        angle = math.radians(course_degrees)
        beyond = (east_nm - self.east_nm) * math.sin(angle) + (north_nm - self.north_nm) * math.cos(angle)
        return "TO" if beyond < 0.0 else "FROM"

    def needle_degrees(self, east_nm: float, north_nm: float, course_degrees: float) -> float:
        """Degrees off the selected course, within [-90, 90]: where the needle stands.

        Positive: needle right, the course lies to the right of somebody who faces along it.
        """
        angle = math.radians(course_degrees)
        east, north = east_nm - self.east_nm, north_nm - self.north_nm
        beyond = east * math.sin(angle) + north * math.cos(angle)
        right_of_course = east * math.cos(angle) - north * math.sin(angle)
        return math.degrees(math.atan2(-right_of_course, abs(beyond)))

    def is_passed(
        self,
        before: tuple[float, float],
        after: tuple[float, float],
        course_degrees: float,
        reversed_within_nm: float = 0.5,
    ) -> bool:
        """Whether the station was passed on the way from one place to the next (east and north, miles).

        Station passage is the first complete reversal of the TO/FROM indicator: AIM 5-3-2a1. The course is
        the one selected now, so that twisting the selector is no passage. TO becoming FROM counts at any
        distance. With the selector set to the reciprocal the indicator goes the other way at the station,
        and does so too abeam it on the outbound leg of a hold; FROM becoming TO counts near the station only.
        """
        was, now = self.flag(*before, course_degrees), self.flag(*after, course_degrees)
        return was != now and (was == "TO" or self.distance_nm(*after) <= reversed_within_nm)
