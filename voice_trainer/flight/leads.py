"""How early a turn or a level-off begins: from an arc to a radial, from a radial to an arc, before a fix.

Distances and radii are nautical miles, leads on an arc are degrees of radial. `turns` has the radii and the lead of
a roll-out, `sixty_to_one` the width of a radial. Rolling in takes no time here, and the air is still.
"""

from __future__ import annotations

import math
from typing import Literal

from voice_trainer.flight.sixty_to_one import radials_per_nm

Direction = Literal["inbound", "outbound"]
ArcCorrection = Literal["by the turn", "a third"]


def lead_radials(dme_nm: float, radius_nm: float) -> float:
    """The lead from an arc to a radial by the rule: radials a mile, times the radius of the turn.

    Source: CNATRA P-340 Fig. 6-60. Raises ValueError at the station.
    """
    return radials_per_nm(dme_nm) * radius_nm


def corrected_lead_radials(
    dme_nm: float, radius_nm: float, direction: Direction, correction: ArcCorrection = "by the turn"
) -> float:
    """The same for arcs of about 10 DME and less, where turning inbound is more than 90 degrees and outbound less.

    'by the turn': plus (inbound) or minus (outbound) the radius times the turn over 90; the turn is 90 plus or minus
    the lead (CNATRA P-1204 p. 76). 'a third': plus or minus a third of the lead (CNATRA P-1235 p. 1-16).
    """
    lead = lead_radials(dme_nm, radius_nm)
    sign = 1.0 if direction == "inbound" else -1.0
    if correction == "a third":
        return lead + sign * lead / 3.0
    return lead + sign * radius_nm * (90.0 + sign * lead) / 90.0


def exact_lead_radials(dme_nm: float, radius_nm: float, direction: Direction) -> float:
    """The lead from an arc to a radial with which a circle of that radius touches both. Derived.

    Raises ValueError where no such circle fits: inbound the arc must be more than twice the radius away.
    """
    centre = dme_nm - radius_nm if direction == "inbound" else dme_nm + radius_nm
    if radius_nm <= 0.0 or centre <= radius_nm:
        raise ValueError(f"a turn of {radius_nm:g} NM does not fit {direction} from an arc of {dme_nm:g} DME")
    return math.degrees(math.asin(radius_nm / centre))


def arc_lead_dme(arc_dme_nm: float, radius_nm: float, direction: Direction) -> float:
    """The DME at which the turn onto an arc begins, by the rule: one radius before it.

    Source: CNATRA P-871 ch. 4. Raises ValueError where that is not outside the station.
    """
    _check_fits(arc_dme_nm, radius_nm)
    return arc_dme_nm + radius_nm if direction == "inbound" else arc_dme_nm - radius_nm


def exact_arc_lead_dme(arc_dme_nm: float, radius_nm: float, direction: Direction) -> float:
    """The DME at which a circle of that radius leaves the radial and touches the arc. Derived.

    Raises ValueError where the arc is not more than two radii from the station.
    """
    _check_fits(arc_dme_nm, 2.0 * radius_nm)
    side = 2.0 * arc_dme_nm * radius_nm
    return math.sqrt(arc_dme_nm**2 + (side if direction == "inbound" else -side))


def turn_lead_nm(radius_nm: float, turn_degrees: float) -> float:
    """How far before a fix a turn begins that touches both courses: radius x tan(half the turn). Derived.

    Raises ValueError for a turn of 180 degrees or more, which no lead makes.
    """
    if not abs(turn_degrees) < 180.0:
        raise ValueError(f"a turn of {turn_degrees:g} degrees cannot be led: it must be less than 180")
    return radius_nm * math.tan(math.radians(abs(turn_degrees)) / 2.0)


def level_off_lead_feet(vertical_speed_feet_per_minute: float) -> float:
    """How many feet before the altitude the level-off begins: 10 % of the vertical speed. CNATRA P-765 s.401."""
    return abs(vertical_speed_feet_per_minute) * 0.1


def _check_fits(arc_dme_nm: float, room_nm: float) -> None:
    if not 0.0 < room_nm < arc_dme_nm:
        raise ValueError(f"a turn that needs {room_nm:g} NM does not fit inside an arc of {arc_dme_nm:g} DME")
