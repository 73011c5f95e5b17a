"""What the student's calls do to the aeroplane.

A verb takes the slots of the call *as they were said*: an aeroplane that is told a wrong heading flies it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from voice_trainer.flight.aeroplane import Aeroplane, AeroplaneState, Targets, Turn
from voice_trainer.flight.courses import normalise_degrees, signed_difference
from voice_trainer.flight.guidance import Guidance
from voice_trainer.flight.navaids import Navaid

ALREADY_THERE_DEGREES = 5.0
"""This near to its heading, an aeroplane told 'turn left' makes no full circle (common practice)."""


class CommandError(ValueError):
    """A verb that the aeroplane does not know, or a value that it needs and cannot use."""


@dataclass(frozen=True, slots=True)
class _Order:
    """A verb with the values that were said."""

    verb: str
    slots: Mapping[str, str]
    at_seconds: float

    def text(self, *keys: str) -> str:
        """The first of these slots that is there."""
        for key in keys:
            if key in self.slots:
                return self.slots[key]
        given = ", ".join(sorted(self.slots)) or "none"
        raise CommandError(f"'{self.verb}' needs the slot '{keys[0]}'; given: {given}")

    def number(self, key: str, least: int, most: int, *others: str) -> float:
        """A slot that holds a whole number in a range."""
        value = self.text(key, *others)
        if not (value.isascii() and value.isdecimal() and least <= int(value) <= most):
            raise CommandError(f"'{self.verb}': {key} '{value}' is not a whole number from {least} to {most}")
        return float(value)

    def miles(self, key: str, most: float) -> float:
        """A slot that holds miles, perhaps with a decimal."""
        value = self.text(key)
        digits = value.replace(".", "", 1)
        if not (digits.isascii() and digits.isdecimal() and 0.0 < float(value) <= most):
            raise CommandError(f"'{self.verb}': {key} '{value}' is no distance up to {most:g} miles")
        return float(value)

    def side(self) -> Turn | None:
        """'left' or 'right', None where no side was said."""
        match self.slots.get("left/right"):
            case None:
                return None
            case "left" | "right" as side:
                return side
            case other:
                raise CommandError(f"'{self.verb}': '{other}' is neither 'left' nor 'right'")


def do(aeroplane: Aeroplane, verb: str, slots: Mapping[str, str], at_seconds: float) -> Aeroplane:
    """The aeroplane with new targets, in the same place.

    'turn' wants the slot `heading` and heeds `left/right`, 'track' wants `course`, 'arc' wants `distance` and
    heeds `left/right`, 'direct' wants `fix`: each of them ends what another one began. 'altitude' wants `altitude`
    or `minimums`, 'missed' `altitude`, 'minimums alert' `minimums` (feet); 'rate' wants `rate` (feet a minute);
    'speed' wants `speed` (knots); 'course' `course`, 'bug' `heading`; 'tune' `frequency`; 'gear' `gear`, 'flaps'
    `flap`. 'clock' starts the clock, or starts it anew, at `at_seconds` of flight time. 'glidepath' follows the
    tuned ils's. Slots that the verb has no use for are let be. Raises CommandError.
    """
    if verb not in _DEEDS:
        raise CommandError(f"the aeroplane does not know '{verb}'; it knows: {', '.join(VERBS)}")
    return _DEEDS[verb](aeroplane, _Order(verb, slots, at_seconds))


def _turn(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    heading = order.number("heading", 1, 360)
    near = abs(signed_difference(aeroplane.state.heading_degrees, heading)) <= ALREADY_THERE_DEGREES
    side = order.side()
    turn: Turn = "shortest" if side is None or near else side
    return _with_targets(aeroplane, heading_degrees=heading, turn=turn, guidance=None)


def _track(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    course = order.number("course", 1, 360)
    navaid = _received(aeroplane, order)
    if navaid.front_course_degrees is not None:
        # The line of a localizer is its own, to the tenth of a degree, whichever way it is flown.
        off = abs(signed_difference(navaid.front_course_degrees, course))
        course = normalise_degrees(navaid.front_course_degrees + (180.0 if off > 90.0 else 0.0))
    return _on_line(aeroplane, Guidance(navaid, course_degrees=course))


def _arc(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    miles = order.miles("distance", 60.0)
    navaid = _received(aeroplane, order)
    return _on_line(
        aeroplane,
        Guidance(navaid, arc_nm=miles, clockwise=_is_clockwise(aeroplane.state, navaid, order.side())),
    )


def _direct(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    fix = order.text("fix")
    navaid = next((each for each in aeroplane.navaids if each.is_called(fix)), None)
    if navaid is None:
        known = ", ".join(each.ident for each in aeroplane.navaids) or "none"
        raise CommandError(f"'direct': there is no '{fix}'; known: {known}")
    state = aeroplane.state
    if navaid.kind == "waypoint":
        # Its course is the one from here, and the selector of the navigator shows it.
        bearing = navaid.bearing_to_degrees(state.east_nm, state.north_nm)
        state = replace(state, course_degrees=bearing)
    aeroplane = replace(aeroplane, state=state, tuned=navaid)
    return _with_targets(aeroplane, guidance=Guidance(navaid, phase="cut"))


def _altitude(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    feet = order.number("altitude", 0, 60000, "minimums")
    return _with_targets(aeroplane, altitude_feet=feet, glidepath=None, on_glidepath=False)


def _missed(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    return _with_targets(
        aeroplane,
        altitude_feet=order.number("altitude", 0, 60000),
        heading_degrees=None,
        vertical_speed_feet_per_minute=None,
        turn="shortest",
        guidance=None,
        glidepath=None,
        on_glidepath=False,
    )


def _glidepath(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    navaid = _received(aeroplane, order)
    if navaid.glidepath_degrees is None:
        raise CommandError(f"'glidepath': {navaid.ident} has none")
    return _with_targets(aeroplane, glidepath=navaid, on_glidepath=False)


def _rate(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    return _with_targets(aeroplane, vertical_speed_feet_per_minute=order.number("rate", 50, 6000))


def _speed(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    return _with_targets(aeroplane, airspeed_knots=order.number("speed", 30, 500))


def _course(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    return _with_state(aeroplane, course_degrees=order.number("course", 1, 360))


def _clock(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    return _with_state(aeroplane, clock_started_seconds=order.at_seconds)


def _tune(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    # What is being flown goes on: the student has not said to stop it.
    wanted = order.text("frequency")
    return replace(aeroplane, tuned=next((each for each in aeroplane.navaids if each.is_on(wanted)), None))


def _gear(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    gear = order.text("gear", "up/down", "down/up")
    if gear not in ("up", "down"):
        raise CommandError(f"'gear': '{gear}' is neither 'up' nor 'down'")
    return _with_cockpit(aeroplane, gear=gear)


def _flaps(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    return _with_cockpit(aeroplane, flaps=order.text("flap", "flaps"))


def _bug(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    return _with_cockpit(aeroplane, bug_degrees=order.number("heading", 1, 360))


def _minimums_alert(aeroplane: Aeroplane, order: _Order) -> Aeroplane:
    return _with_cockpit(aeroplane, minimums_alert_feet=order.number("minimums", 0, 60000, "altitude"))


_DEEDS: dict[str, Callable[[Aeroplane, _Order], Aeroplane]] = {
    "turn": _turn,
    "altitude": _altitude,
    "speed": _speed,
    "course": _course,
    "clock": _clock,
    "track": _track,
    "tune": _tune,
    "direct": _direct,
    "rate": _rate,
    "glidepath": _glidepath,
    "gear": _gear,
    "flaps": _flaps,
    "bug": _bug,
    "minimums alert": _minimums_alert,
    "arc": _arc,
    "missed": _missed,
}

VERBS = tuple(_DEEDS)


def _on_line(aeroplane: Aeroplane, guidance: Guidance) -> Aeroplane:
    """Fly along a line. What was flown before becomes the heading that is held until the lead point."""
    state, before = aeroplane.state, aeroplane.targets.guidance
    if before is None and aeroplane.targets.heading_degrees is not None:
        return _with_targets(aeroplane, guidance=guidance.moved("finish"))
    return _with_targets(aeroplane, heading_degrees=state.heading_degrees, turn="shortest", guidance=guidance)


def _received(aeroplane: Aeroplane, order: _Order) -> Navaid:
    if aeroplane.tuned is None:
        raise CommandError(f"'{order.verb}': nothing is received on the frequency that is tuned")
    return aeroplane.tuned


INBOUND_DEGREES = 60.0
"""Off the radial: who joins an arc comes in, and has turned by 90 degrees at most (ours)."""


def _is_clockwise(state: AeroplaneState, navaid: Navaid, side: Turn | None) -> bool:
    """Which way round an arc goes: the station is on the right when it goes clockwise.

    Inbound, a left turn brings the station to the right; outbound, to the left. Without a side, the way to which
    there is less to turn.
    """
    radial = navaid.radial_degrees(state.east_nm, state.north_nm)
    off = signed_difference(radial, state.heading_degrees)
    if side is None:
        return off >= 0.0
    # Said when the turn is nearly over it still means the way that it came.
    is_inbound = abs(off) > INBOUND_DEGREES
    return is_inbound == (side == "left")


def _with_targets(aeroplane: Aeroplane, **changes: object) -> Aeroplane:
    targets: Targets = replace(aeroplane.targets, **changes)  # type: ignore[arg-type]
    return replace(aeroplane, targets=targets)


def _with_state(aeroplane: Aeroplane, **changes: object) -> Aeroplane:
    state: AeroplaneState = replace(aeroplane.state, **changes)  # type: ignore[arg-type]
    return replace(aeroplane, state=state)


def _with_cockpit(aeroplane: Aeroplane, **changes: object) -> Aeroplane:
    cockpit = replace(aeroplane.state.cockpit, **changes)  # type: ignore[arg-type]
    return _with_state(aeroplane, cockpit=cockpit)
