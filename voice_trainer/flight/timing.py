"""Legs flown by the clock, and how a clock reading is written: minutes, a colon, two digits of seconds."""

from __future__ import annotations

import math
import re

DURATION = re.compile(r"(0|[1-9][0-9]{0,2}):([0-5][0-9])")
"""'1:57': whole minutes without leading zeros, then two digits of seconds."""


def leg_seconds(distance_nm: float, groundspeed_knots: float) -> float:
    """Seconds that a leg takes, exactly. Raises ValueError unless the groundspeed is positive."""
    if not groundspeed_knots > 0.0:
        raise ValueError(f"a leg cannot be timed at {groundspeed_knots:g} knots over the ground")
    return 3600.0 * distance_nm / groundspeed_knots


def duration_text(seconds: float) -> str:
    """The nearest whole second as '1:57', half a second upwards. Raises ValueError below zero."""
    if not (math.isfinite(seconds) and seconds >= 0.0):
        raise ValueError(f"a duration is zero seconds or more, not {seconds}")
    minutes, rest = divmod(math.floor(seconds + 0.5), 60)
    return f"{minutes}:{rest:02d}"


def duration_seconds(text: str) -> int:
    """Seconds of a text such as '1:57'. Raises ValueError for any other form."""
    found = DURATION.fullmatch(text)
    if found is None:
        raise ValueError(f"'{text}' is not a time such as '1:57'")
    return int(found[1]) * 60 + int(found[2])
