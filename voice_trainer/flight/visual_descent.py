"""The visual descent point: where a normal descent from the minimum descent altitude to the runway begins.

A published one is marked V on the chart. No descent below the minimums before it; who cannot find it flies as
if there were none: AIM 5-4-5f. What is here finds one where none is published, by the rules of an instrument
textbook. Heights are feet above touchdown, distances are from the threshold.
"""

from __future__ import annotations

import math
from typing import Literal

from voice_trainer.flight.descent import gradient_feet_per_nm
from voice_trainer.flight.timing import leg_seconds

DistanceRule = Literal["exact", "300 feet a mile"]


def visual_descent_point_nm(
    height_above_touchdown_feet: float, rule: DistanceRule = "300 feet a mile", degrees: float = 3.0
) -> float:
    """Miles from the threshold.

    '300 feet a mile' is height / 300 and knows no angle; 'exact' is the height over the gradient of the
    angle. Raises ValueError unless height and angle are positive.
    """
    _check_height(height_above_touchdown_feet)
    if rule == "300 feet a mile":
        return height_above_touchdown_feet / 300.0
    if not degrees > 0.0:
        raise ValueError(f"a descent to the runway slopes by more than 0 degrees, not {degrees}")
    return height_above_touchdown_feet / gradient_feet_per_nm(degrees)


def seconds_before_missed(height_above_touchdown_feet: float) -> float:
    """How long before the missed approach point's time: a tenth of the height, in seconds.

    Good for a missed approach point at the threshold. Raises ValueError unless the height is positive.
    """
    _check_height(height_above_touchdown_feet)
    return height_above_touchdown_feet / 10.0


def seconds_from_fix(fix_to_missed_seconds: float, height_above_touchdown_feet: float) -> float:
    """Seconds from the final approach fix, by a tenth of the height.

    Raises ValueError where the point would lie before the fix.
    """
    return _from_fix(fix_to_missed_seconds, seconds_before_missed(height_above_touchdown_feet))


def seconds_from_fix_by_groundspeed(
    fix_to_missed_seconds: float, visual_descent_point_nm: float, groundspeed_knots: float
) -> float:
    """Seconds from the final approach fix, by what the last miles take at this groundspeed.

    Raises ValueError where the point would lie before the fix, and unless the groundspeed is positive.
    """
    return _from_fix(fix_to_missed_seconds, leg_seconds(visual_descent_point_nm, groundspeed_knots))


def _from_fix(fix_to_missed_seconds: float, before_seconds: float) -> float:
    left = fix_to_missed_seconds - before_seconds
    if left < 0.0:
        raise ValueError(
            f"the visual descent point, {before_seconds:.0f} seconds before the missed approach point, lies "
            f"before the final approach fix, {fix_to_missed_seconds:.0f} seconds before it"
        )
    return left


def _check_height(height_above_touchdown_feet: float) -> None:
    if not (math.isfinite(height_above_touchdown_feet) and height_above_touchdown_feet > 0.0):
        raise ValueError(f"minimums are above touchdown, not {height_above_touchdown_feet} feet above it")
