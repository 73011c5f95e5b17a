"""The wind, and the triangle that it makes of heading and track."""

from __future__ import annotations

import math
from dataclasses import dataclass

from voice_trainer.flight.courses import normalise_degrees, signed_difference, text


class WindError(ValueError):
    """A wind, or a course in that wind, that cannot be flown."""


@dataclass(frozen=True, slots=True)
class Wind:
    """Where the wind comes from, in degrees magnetic, and how strong it is. Raises WindError below zero."""

    from_degrees: float
    knots: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.from_degrees) and math.isfinite(self.knots) and self.knots >= 0.0):
            raise WindError(
                f"wind {self.from_degrees:g} at {self.knots:g}: give a direction and knots, 0 or more"
            )

    @property
    def drift_knots(self) -> tuple[float, float]:
        """What the air itself moves, knots east and north."""
        angle = math.radians(self.from_degrees)
        return -self.knots * math.sin(angle), -self.knots * math.cos(angle)


CALM = Wind(360.0, 0.0)


@dataclass(frozen=True, slots=True)
class Triangle:
    """How to keep a course in a wind; a correction to the right is positive."""

    correction_degrees: float
    heading_degrees: float
    groundspeed_knots: float


@dataclass(frozen=True, slots=True)
class Track:
    """What a heading comes to over the ground; drift to the right is positive."""

    drift_degrees: float
    track_degrees: float
    groundspeed_knots: float


def drift_correction(course_degrees: float, airspeed_knots: float, wind: Wind) -> Triangle:
    """The heading and the groundspeed that keep `course_degrees`.

    Raises WindError where no heading keeps it: the crosswind is stronger than the aeroplane is fast, or the
    headwind takes it backwards.
    """
    angle = math.radians(signed_difference(course_degrees, wind.from_degrees))
    crosswind, headwind = wind.knots * math.sin(angle), wind.knots * math.cos(angle)
    where = f"course {text(course_degrees)} at {airspeed_knots:g} knots, {_said(wind)}"
    if airspeed_knots <= 0.0 or abs(crosswind) > airspeed_knots:
        raise WindError(f"{where}: the crosswind of {abs(crosswind):.0f} knots is more than can be held")
    correction = math.asin(crosswind / airspeed_knots)
    groundspeed = airspeed_knots * math.cos(correction) - headwind
    if groundspeed <= 0.0:
        raise WindError(f"{where}: the headwind of {headwind:.0f} knots lets it make no way")
    degrees = math.degrees(correction)
    return Triangle(degrees, normalise_degrees(course_degrees + degrees), groundspeed)


def track_made_good(heading_degrees: float, airspeed_knots: float, wind: Wind) -> Track:
    """What becomes of a heading that is held in a wind, uncorrected.

    Raises WindError where the wind leaves the aeroplane hanging in one place.
    """
    heading = math.radians(heading_degrees)
    east, north = wind.drift_knots
    east += airspeed_knots * math.sin(heading)
    north += airspeed_knots * math.cos(heading)
    groundspeed = math.hypot(east, north)
    if groundspeed < 1e-9:
        raise WindError(
            f"heading {text(heading_degrees)} at {airspeed_knots:g} knots, {_said(wind)}: no track"
        )
    track = normalise_degrees(math.degrees(math.atan2(east, north)))
    return Track(signed_difference(heading_degrees, track), track, groundspeed)


def wind_found(
    heading_degrees: float, airspeed_knots: float, track_degrees: float, groundspeed_knots: float
) -> Wind:
    """The wind that makes this track and groundspeed of this heading and airspeed."""
    heading, track = math.radians(heading_degrees), math.radians(track_degrees)
    east = airspeed_knots * math.sin(heading) - groundspeed_knots * math.sin(track)
    north = airspeed_knots * math.cos(heading) - groundspeed_knots * math.cos(track)
    return Wind(normalise_degrees(math.degrees(math.atan2(east, north))), math.hypot(east, north))


def _said(wind: Wind) -> str:
    return f"wind {text(wind.from_degrees)} at {wind.knots:g}"
