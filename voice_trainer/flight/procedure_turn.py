"""Course reversals: the 45/180 procedure turn with both published timings, the teardrop, and their limits.

Directions are degrees magnetic within (0, 360]. Nothing here allows for wind.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from voice_trainer.flight.courses import (
    Side,
    procedure_turn_45_180,
    reciprocal,
    signed_difference,
)
from voice_trainer.flight.turns import STANDARD_RATE_DEGREES_PER_SECOND, radius_at_rate_nm

Category = Literal["A", "B", "C", "D", "E"]
TimedFrom = Literal["end of the 45", "start of the 45"]

FASTEST_KNOTS = 200.0
"""From the initial fix through the course reversal: AIM 5-4-9a3."""

NORMAL_DISTANCE_NM = 10.0


@dataclass(frozen=True, slots=True)
class ProcedureTurn:
    """A 45/180: out on `out_degrees` for `leg_seconds`, counted from `timed_from`, then 180 the other way.

    `straight_seconds` is the part of that time with the wings level.
    """

    side: Side
    out_degrees: float
    turn_back: Side
    back_degrees: float
    inbound_degrees: float
    timed_from: TimedFrom
    leg_seconds: float
    straight_seconds: float


@dataclass(frozen=True, slots=True)
class Teardrop:
    """A teardrop: outbound on its own course, then one turn of `turn_degrees` to the inbound course."""

    outbound_degrees: float
    turn: Side
    turn_degrees: float
    inbound_degrees: float


def leg_seconds(timed_from: TimedFrom, category: Category) -> float:
    """How long the 45-degree leg is.

    From the end of the 45-degree turn a minute, for all (CNATRA P-553, P-340 s.625). From its start a minute for
    categories A and B, 1:15 for C, D and E (ICAO and USAF, in CNATRA P-553 note 2).
    """
    return 75.0 if timed_from == "start of the 45" and category in ("C", "D", "E") else 60.0


def procedure_turn(
    outbound_degrees: float,
    side: Side,
    timed_from: TimedFrom = "end of the 45",
    category: Category = "A",
    rate_degrees_per_second: float = STANDARD_RATE_DEGREES_PER_SECOND,
) -> ProcedureTurn:
    """The 45/180 from an outbound course to the charted side. Raises ValueError unless the rate is positive.

    A rate so low that the turn alone takes the whole leg is a ValueError too.
    """
    if not rate_degrees_per_second > 0.0:
        raise ValueError(f"a turn needs a rate above 0, not {rate_degrees_per_second:g} degrees a second")
    out, back = procedure_turn_45_180(outbound_degrees, side)
    seconds = leg_seconds(timed_from, category)
    straight = seconds - (45.0 / rate_degrees_per_second if timed_from == "start of the 45" else 0.0)
    if straight < 0.0:
        raise ValueError(
            f"at {rate_degrees_per_second:g} degrees a second the 45 takes more than {seconds:g} s"
        )
    return ProcedureTurn(
        side,
        out,
        "left" if side == "right" else "right",
        back,
        reciprocal(outbound_degrees),
        timed_from,
        seconds,
        straight,
    )


def teardrop(outbound_degrees: float, inbound_degrees: float) -> Teardrop:
    """The turn of a teardrop, from its outbound to its inbound course: towards the inbound course, 180 and more.

    Derived: the turn is 180 degrees and the angle between the two courses. Raises ValueError where they are one
    line, or 90 degrees and more apart.
    """
    angle = signed_difference(outbound_degrees, reciprocal(inbound_degrees))
    if not 0.0 < abs(angle) < 90.0:
        raise ValueError(
            f"the courses of a teardrop are more than 0 and less than 90 degrees apart, not {abs(angle):g}"
        )
    return Teardrop(outbound_degrees, "right" if angle > 0.0 else "left", 180.0 + abs(angle), inbound_degrees)


def teardrop_leg_nm(angle_degrees: float, radius_nm: float) -> float:
    """How far outbound a turn of that radius ends exactly on the inbound course: radius / tan(half the angle).

    Derived. Raises ValueError for an angle that is not between 0 and 90 degrees.
    """
    if not 0.0 < angle_degrees < 90.0:
        raise ValueError(f"the angle of a teardrop is between 0 and 90 degrees, not {angle_degrees:g}")
    return radius_nm / math.tan(math.radians(angle_degrees) / 2.0)


def farthest_nm(
    turn: ProcedureTurn,
    begins_nm: float,
    speed_knots: float,
    rate_degrees_per_second: float = STANDARD_RATE_DEGREES_PER_SECOND,
) -> float:
    """The greatest distance from the fix of a 45/180 that begins `begins_nm` outbound, in still air. Derived.

    `rate_degrees_per_second` is the one that the turn was planned with. Raises ValueError unless it is positive.
    """
    radius = radius_at_rate_nm(speed_knots, rate_degrees_per_second)
    leg = speed_knots / 3600.0 * turn.straight_seconds
    half = math.sqrt(0.5)
    # Along the outbound course and to the side: the 45, the leg, then to the middle of the turn back.
    along = begins_nm + half * radius + half * leg + half * radius
    aside = (1.0 - half) * radius + half * leg - half * radius
    return math.hypot(along, aside) + radius


def within_limits(
    farthest_from_fix_nm: float, speed_knots: float, limit_nm: float = NORMAL_DISTANCE_NM
) -> bool:
    """Whether a procedure turn keeps to 200 knots indicated and to the distance in the profile.

    That is 10 miles normally, 5 at the least (category A and helicopters only), 15 at the most. Source: AIM 5-4-9a3.
    Raises ValueError for another distance.
    """
    if not 5.0 <= limit_nm <= 15.0:
        raise ValueError(f"a procedure turn is charted within 5 to 15 NM, not {limit_nm:g}")
    return speed_knots <= FASTEST_KNOTS and farthest_from_fix_nm <= limit_nm
