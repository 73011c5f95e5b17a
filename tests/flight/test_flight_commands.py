"""What the student says, and what the aeroplane makes of it."""

from __future__ import annotations

import pytest
from flying import aeroplane

from voice_trainer.flight.commands import VERBS, CommandError, do


def test_turn_to_the_side_that_was_said() -> None:
    plane = do(aeroplane(), "turn", {"heading": "288", "left/right": "left"}, 0.0)
    assert (plane.targets.heading_degrees, plane.targets.turn) == (288.0, "left")
    plane = do(plane, "turn", {"heading": "108", "left/right": "right"}, 0.0)
    assert (plane.targets.heading_degrees, plane.targets.turn) == (108.0, "right")


def test_turn_without_a_side_is_the_shortest() -> None:
    plane = do(aeroplane(), "turn", {"heading": "360"}, 0.0)
    assert (plane.targets.heading_degrees, plane.targets.turn) == (360.0, "shortest")


def test_the_wrong_side_is_flown_the_long_way_round() -> None:
    plane, samples = do(aeroplane(), "turn", {"heading": "345", "left/right": "left"}, 0.0).advance(140.0)
    assert samples[100].bank_degrees < -15.0
    assert plane.state.heading_degrees == 345.0
    assert next(s.seconds for s in samples if s.heading_degrees == 345.0) > 110.0


# Common practice: nobody flies a full circle to correct three degrees.
def test_a_side_is_not_heeded_within_five_degrees() -> None:
    _, samples = do(aeroplane(), "turn", {"heading": "336", "left/right": "left"}, 0.0).advance(20.0)
    assert all(state.bank_degrees >= -0.5 for state in samples)
    assert samples[-1].heading_degrees == 336.0


def test_the_other_targets_stay() -> None:
    plane = do(aeroplane(), "altitude", {"altitude": "2600"}, 0.0)
    plane = do(plane, "speed", {"speed": "110", "altitude": "9999"}, 0.0)
    plane = do(plane, "turn", {"heading": "288"}, 0.0)
    assert (plane.targets.altitude_feet, plane.targets.airspeed_knots) == (2600.0, 110.0)


def test_the_course_is_set_at_once() -> None:
    before = aeroplane()
    plane = do(before, "course", {"course": "153"}, 0.0)
    assert plane.state.course_degrees == 153.0
    assert plane.targets == before.targets


def test_the_clock_starts_and_starts_anew() -> None:
    plane = do(aeroplane(), "clock", {}, 12.34)
    assert plane.state.clock_started_seconds == 12.34
    assert do(plane, "clock", {"time": "0:00"}, 50.0).state.clock_started_seconds == 50.0


def test_an_unknown_verb() -> None:
    with pytest.raises(
        CommandError, match="does not know 'hover'; it knows: turn, altitude, speed, course, clock"
    ):
        do(aeroplane(), "hover", {}, 0.0)


@pytest.mark.parametrize("verb", [verb for verb in VERBS if verb not in ("clock", "glidepath")])
def test_a_slot_that_is_missing(verb: str) -> None:
    with pytest.raises(CommandError, match=f"'{verb}' needs the slot '.+'; given: count"):
        do(aeroplane(), verb, {"count": "3"}, 0.0)
    with pytest.raises(ValueError, match="given: none"):
        do(aeroplane(), verb, {}, 0.0)


@pytest.mark.parametrize(
    ("verb", "key", "value"),
    [
        ("turn", "heading", "000"),
        ("turn", "heading", "361"),
        ("turn", "heading", "nine"),
        ("turn", "heading", "-90"),
        ("turn", "heading", "٠٩٠"),
        ("course", "course", "400"),
        ("altitude", "altitude", "70000"),
        ("altitude", "altitude", "FL210"),
        ("speed", "speed", "0"),
        ("speed", "speed", "1e2"),
    ],
)
def test_a_value_that_cannot_be_flown(verb: str, key: str, value: str) -> None:
    with pytest.raises(CommandError, match=f"'{verb}': {key} '{value}' is not a whole number from"):
        do(aeroplane(), verb, {key: value}, 0.0)


def test_a_side_that_is_none() -> None:
    with pytest.raises(CommandError, match="'up' is neither 'left' nor 'right'"):
        do(aeroplane(), "turn", {"heading": "100", "left/right": "up"}, 0.0)
