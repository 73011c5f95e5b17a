"""Directions on the compass, and the headings that follow from them by rule.

Every direction is in degrees magnetic. North is 360, never 000, as it is spoken and as it is printed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Side = Literal["left", "right"]

OUTBOUND_INTERCEPT_LIMIT_DEGREES = 45.0
INBOUND_INTERCEPT_LIMIT_DEGREES = 90.0


@dataclass(frozen=True, slots=True)
class FixTurn:
    """A turn at a fix: its side, the heading that parallels the new course, and the last one it may go to."""

    side: Side
    parallel_degrees: float
    limit_degrees: float


def normalise_degrees(degrees: float) -> float:
    """The same direction within (0, 360]. Raises ValueError for what is not a finite number."""
    if not math.isfinite(degrees):
        raise ValueError(f"a direction is a number of degrees, not {degrees}")
    # A tiny negative angle comes out of % as 360.0 exactly, which is what it should be.
    return degrees % 360.0 or 360.0


def text(degrees: float) -> str:
    """Three digits of the nearest whole degree: '095', and '360' for north."""
    return f"{int(normalise_degrees(math.floor(normalise_degrees(degrees) + 0.5))):03d}"


def signed_difference(from_degrees: float, to_degrees: float) -> float:
    """The shortest turn between two directions, within (-180, 180]; right is positive."""
    turn = (to_degrees - from_degrees) % 360.0
    return turn - 360.0 if turn > 180.0 else turn


def reciprocal(course_degrees: float) -> float:
    """The opposite direction, within (0, 360]."""
    return normalise_degrees(course_degrees + 180.0)


def procedure_turn_45_180(outbound_degrees: float, side: Side) -> tuple[float, float]:
    """The two headings of a 45/180 procedure turn: out (45 degrees to the charted side), then back.

    The turn from the first to the second is the 180 in the *opposite* direction. Still air: no drift allowed
    for. Source: CNATRA P-553 and P-340 s.625.
    """
    out = normalise_degrees(outbound_degrees + (45.0 if side == "right" else -45.0))
    return out, reciprocal(out)


def outbound_intercept_heading(on_radial_degrees: float, wanted_radial_degrees: float) -> float:
    """The heading that joins an outbound radial after station passage.

    It cuts the wanted radial at as many degrees as the aeroplane is off it, and never at more than 45.
    Source: CNATRA P-871 s.406 step 7; AFMAN 11-217V1 (2005) 7.4.5.3.
    """
    off = signed_difference(on_radial_degrees, wanted_radial_degrees)
    cut = min(abs(off), OUTBOUND_INTERCEPT_LIMIT_DEGREES)
    return normalise_degrees(wanted_radial_degrees + math.copysign(cut, off))


def inbound_intercept_heading(bearing_to_degrees: float, course_degrees: float) -> float:
    """The heading that joins an inbound course by doubling the angle.

    From the course through the bearing to the station, and as far again; the cut never exceeds 90 degrees.
    Source: CNATRA P-765 Fig. 7-5.
    """
    off = signed_difference(course_degrees, bearing_to_degrees)
    cut = min(2.0 * abs(off), INBOUND_INTERCEPT_LIMIT_DEGREES)
    return normalise_degrees(course_degrees + math.copysign(cut, off))


def fix_turn(heading_degrees: float, new_course_degrees: float, correction_degrees: float = 0.0) -> FixTurn:
    """The turn at a fix, the short way to the new course, and how far beyond it an intercept may go: 45 degrees.

    `correction_degrees` is the drift correction of the new course, right positive: with it the heading parallels
    the course. Source: CNATRA P-765 s.602.
    """
    parallel = normalise_degrees(new_course_degrees + correction_degrees)
    turn = signed_difference(heading_degrees, parallel)
    beyond = math.copysign(OUTBOUND_INTERCEPT_LIMIT_DEGREES, turn)
    return FixTurn("right" if turn >= 0.0 else "left", parallel, normalise_degrees(parallel + beyond))
