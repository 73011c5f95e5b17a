"""From the final approach fix to the missed approach point by the clock.

A chart prints the times for a few groundspeeds. What lies between them is either computed exactly or
interpolated along a straight line, as is taught for a printed table; the two differ by seconds, so that
which of them holds is a setting. Timing is only for approaches that publish it: CNATRA P-553.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Literal

from voice_trainer.flight.timing import leg_seconds

TimingRule = Literal["exact", "interpolated"]

CHART_GROUNDSPEEDS_KNOTS = (60, 90, 120, 150, 180)
"""The columns of a chart's table; from memory, no printed chart was at hand."""


def timing_table(
    distance_nm: float, groundspeeds_knots: Sequence[int] = CHART_GROUNDSPEEDS_KNOTS
) -> dict[int, int]:
    """Groundspeed in knots to the nearest whole second, as a chart prints it.

    Raises ValueError unless distance and groundspeeds are positive.
    """
    return {knots: _nearest(_seconds(distance_nm, knots)) for knots in groundspeeds_knots}


def interpolated_seconds(table: Mapping[int, int], groundspeed_knots: float) -> float:
    """Seconds along the straight line between the two neighbours in the table.

    CNATRA P-765 s.812. Raises ValueError outside the table: nothing is extrapolated.
    """
    for slower, faster in pairwise(sorted(table)):
        if slower <= groundspeed_knots <= faster:
            part = (groundspeed_knots - slower) / (faster - slower)
            return table[slower] + part * (table[faster] - table[slower])
    ends = f"{min(table)} to {max(table)}" if table else "no"
    raise ValueError(f"a table of {ends} knots has no time for {groundspeed_knots:g}")


def fix_to_missed_seconds(distance_nm: float, groundspeed_knots: float, rule: TimingRule = "exact") -> int:
    """Whole seconds from the fix to the missed approach point, half a second upwards.

    'exact' is 3600 x distance / groundspeed; 'interpolated' reads the chart's table between its columns.
    Raises ValueError for a distance or a groundspeed that is not positive, and outside the table.
    """
    if rule == "exact":
        return _nearest(_seconds(distance_nm, groundspeed_knots))
    return _nearest(interpolated_seconds(timing_table(distance_nm), groundspeed_knots))


def _seconds(distance_nm: float, groundspeed_knots: float) -> float:
    if not (math.isfinite(distance_nm) and distance_nm > 0.0):
        raise ValueError(f"from the fix to the missed approach point is more than 0 miles, not {distance_nm}")
    return leg_seconds(distance_nm, groundspeed_knots)


def _nearest(seconds: float) -> int:
    return math.floor(seconds + 0.5)
