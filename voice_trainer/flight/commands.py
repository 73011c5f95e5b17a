"""What the student's calls do to the aeroplane.

A verb takes the slots of the call *as they were said*: an aeroplane that is told a wrong heading flies it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from voice_trainer.flight.aeroplane import Aeroplane, Turn
from voice_trainer.flight.courses import signed_difference

VERBS = ("turn", "altitude", "speed", "course", "clock")

ALREADY_THERE_DEGREES = 5.0
"""This near to its heading, an aeroplane told 'turn left' makes no full circle (common practice)."""


class CommandError(ValueError):
    """A verb that the aeroplane does not know, or a value that it needs and cannot use."""


def do(aeroplane: Aeroplane, verb: str, slots: Mapping[str, str], at_seconds: float) -> Aeroplane:
    """The aeroplane with new targets, in the same place.

    'turn' wants the slot `heading` and heeds `left/right`; 'altitude' wants `altitude` (feet), 'speed' wants
    `speed` (knots), 'course' wants `course`; 'clock' starts the clock, or starts it anew, at `at_seconds`
    of flight time. Slots that the verb has no use for are let be. Raises CommandError.
    """
    state, targets = aeroplane.state, aeroplane.targets
    match verb:
        case "turn":
            heading = _number(verb, slots, "heading", 1, 360)
            targets = replace(
                targets, heading_degrees=heading, turn=_side(slots, state.heading_degrees, heading)
            )
        case "altitude":
            targets = replace(targets, altitude_feet=_number(verb, slots, "altitude", 0, 60000))
        case "speed":
            targets = replace(targets, airspeed_knots=_number(verb, slots, "speed", 30, 500))
        case "course":
            state = replace(state, course_degrees=_number(verb, slots, "course", 1, 360))
        case "clock":
            state = replace(state, clock_started_seconds=at_seconds)
        case _:
            raise CommandError(f"the aeroplane does not know '{verb}'; it knows: {', '.join(VERBS)}")
    return replace(aeroplane, state=state, targets=targets)


def _number(verb: str, slots: Mapping[str, str], key: str, least: int, most: int) -> float:
    if key not in slots:
        raise CommandError(f"'{verb}' needs the slot '{key}'; given: {', '.join(sorted(slots)) or 'none'}")
    value = slots[key]
    if not (value.isascii() and value.isdecimal() and least <= int(value) <= most):
        raise CommandError(f"'{verb}': {key} '{value}' is not a whole number from {least} to {most}")
    return float(value)


def _side(slots: Mapping[str, str], heading: float, wanted: float) -> Turn:
    match slots.get("left/right"):
        case None:
            return "shortest"
        case "left" | "right" as side:
            near = abs(signed_difference(heading, wanted)) <= ALREADY_THERE_DEGREES
            return "shortest" if near else side
        case other:
            raise CommandError(f"'turn': '{other}' is neither 'left' nor 'right'")
