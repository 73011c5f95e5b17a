"""What the instruments show, as text."""

from __future__ import annotations

import math

from voice_trainer.flight.aeroplane import AeroplaneState
from voice_trainer.flight.courses import text
from voice_trainer.flight.timing import duration_text
from voice_trainer.flight.vor import Vor

FULL_SCALE_DEGREES = 10.0
"""Five dots of two degrees, a common course deviation indicator; other displays differ."""


def panel(state: AeroplaneState, vor: Vor, full_scale_degrees: float = FULL_SCALE_DEGREES) -> dict[str, str]:
    """Reading by instrument: every value is a text, and every key is always there.

    `heading`, `course`: three digits; `altitude`: feet, to the nearest 10; `speed`: knots; `vertical speed`:
    feet a minute, to the nearest 50; `bank`: '18 left', 'level'; `flag`: 'TO' or 'FROM'; `needle`: '3 left'
    (degrees, the course lies to the left), 'centred', or 'full left' at `full_scale_degrees`; `clock`:
    '1:05', or 'stopped' while it has not been started.
    """
    place = state.east_nm, state.north_nm
    started = state.clock_started_seconds
    return {
        "heading": text(state.heading_degrees),
        "altitude": str(_nearest(state.altitude_feet, 10)),
        "speed": str(_nearest(state.airspeed_knots, 1)),
        "vertical speed": str(_nearest(state.vertical_speed_feet_per_minute, 50)),
        "bank": _sided(state.bank_degrees, "level"),
        "course": text(state.course_degrees),
        "flag": vor.flag(*place, state.course_degrees),
        "needle": _needle(vor.needle_degrees(*place, state.course_degrees), full_scale_degrees),
        # A hand that moves with the seconds shows the last whole one, not the nearest.
        "clock": "stopped"
        if started is None
        else duration_text(math.floor(max(0.0, state.seconds - started) + 1e-6)),
    }


def _needle(degrees: float, full_scale_degrees: float) -> str:
    if abs(degrees) >= full_scale_degrees:
        return f"full {_side(degrees)}"
    return _sided(degrees, "centred")


def _sided(degrees: float, none: str) -> str:
    size = _nearest(abs(degrees), 1)
    return f"{size} {_side(degrees)}" if size else none


def _side(degrees: float) -> str:
    return "right" if degrees > 0.0 else "left"


def _nearest(value: float, unit: int) -> int:
    return math.floor(value / unit + 0.5) * unit
