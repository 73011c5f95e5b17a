"""What the instruments show, as text."""

from __future__ import annotations

import math

from voice_trainer.flight.aeroplane import AeroplaneState
from voice_trainer.flight.courses import text
from voice_trainer.flight.navaids import DOTS, Navaid
from voice_trainer.flight.timing import duration_text
from voice_trainer.flight.wind import CALM, Wind

NOTHING = "none"
"""What an instrument shows that has nothing to show."""


def panel(state: AeroplaneState, tuned: Navaid | None, wind: Wind = CALM) -> dict[str, str]:
    """Reading by instrument: every value is a text, and every key is always there.

    `heading`, `course`: three digits; `altitude`: feet, to the nearest 10; `speed`: knots; `vertical speed`:
    feet a minute, to the nearest 50; `bank`: '18 left', 'level'; `clock`: '1:05', or 'stopped' while it has not
    been started; `gear`, `flaps`: as told; `bug`: three digits, or 'none'; `minimums alert`: feet, or 'none';
    `wind`: '270 at 15', or 'calm'.

    Of the navaid that is `tuned`: `tuned`: its ident; `flag`: 'TO' or 'FROM'; `needle`: '3 left' (the course lies to
    the left) in degrees of a VOR, '0.5 dots left' of a localizer, '0.4 miles left' of a waypoint, 'centred', or
    'full left'; `radial`: three digits; `distance`: miles and a tenth, slant where it has a DME, else as the map has
    it; `glidepath`: '0.5 dots above' (the aeroplane is above it), 'on', 'full below', or 'none'. Without a
    signal the flag is 'OFF' and the others are 'none'.
    """
    started = state.clock_started_seconds
    cockpit = state.cockpit
    alert = cockpit.minimums_alert_feet
    return {
        "heading": text(state.heading_degrees),
        "altitude": str(_nearest(state.altitude_feet, 10)),
        "speed": str(_nearest(state.airspeed_knots, 1)),
        "vertical speed": str(_nearest(state.vertical_speed_feet_per_minute, 50)),
        "bank": _sided(state.bank_degrees, "level"),
        "course": text(state.course_degrees),
        # A hand that moves with the seconds shows the last whole one, not the nearest.
        "clock": "stopped"
        if started is None
        else duration_text(math.floor(max(0.0, state.seconds - started) + 1e-6)),
        "gear": cockpit.gear,
        "flaps": cockpit.flaps,
        "bug": NOTHING if cockpit.bug_degrees is None else text(cockpit.bug_degrees),
        "minimums alert": NOTHING if alert is None else f"{alert:.0f}",
        "wind": f"{text(wind.from_degrees)} at {wind.knots:.0f}" if wind.knots >= 0.5 else "calm",
        **_received(state, tuned),
    }


def _received(state: AeroplaneState, tuned: Navaid | None) -> dict[str, str]:
    if tuned is None:
        return {"flag": "OFF"} | dict.fromkeys(
            ("tuned", "needle", "radial", "distance", "glidepath"), NOTHING
        )
    place = state.east_nm, state.north_nm
    return {
        "tuned": tuned.ident,
        "flag": tuned.shown_flag(*place, state.course_degrees),
        "needle": _needle(state, tuned),
        "radial": text(tuned.radial_degrees(*place)),
        "distance": f"{tuned.shown_distance_nm(*place, state.altitude_feet):.1f}",
        "glidepath": _glidepath(tuned.glidepath_deflection(*place, state.altitude_feet)),
    }


def _needle(state: AeroplaneState, tuned: Navaid) -> str:
    course = tuned.used_course_degrees(state.course_degrees)
    deflection = tuned.deflection(state.east_nm, state.north_nm, course) or 0.0
    if abs(deflection) >= 1.0:
        return f"full {_side(deflection)}"
    if tuned.kind == "waypoint":
        return _tenths(abs(deflection) * tuned.full_scale_nm, "miles", _side(deflection), "centred")
    if tuned.is_localizer:
        return _tenths(abs(deflection) * DOTS, "dots", _side(deflection), "centred")
    return _sided(deflection * tuned.full_scale_degrees, "centred")


def _glidepath(deflection: float | None) -> str:
    if deflection is None:
        return NOTHING
    side = "above" if deflection > 0.0 else "below"
    if abs(deflection) >= 1.0:
        return f"full {side}"
    return _tenths(abs(deflection) * DOTS, "dots", side, "on")


def _tenths(size: float, unit: str, side: str, none: str) -> str:
    shown = f"{size:.1f}"
    return none if shown == "0.0" else f"{shown} {unit} {side}"


def _sided(degrees: float, none: str) -> str:
    size = _nearest(abs(degrees), 1)
    return f"{size} {_side(degrees)}" if size else none


def _side(degrees: float) -> str:
    return "right" if degrees > 0.0 else "left"


def _nearest(value: float, unit: int) -> int:
    return math.floor(value / unit + 0.5) * unit
