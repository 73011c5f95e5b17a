"""From an approach to its drill: every published order of checks, every kind, and numbers that hold for the wind."""

from __future__ import annotations

import math

import pytest

from voice_trainer.drills.model import Call, Drill
from voice_trainer.flight.profile import profile_named
from voice_trainer.flight.wind import Wind
from voice_trainer.library.flown import Wanted, builtin_procedures, flown_drill
from voice_trainer.library.procedure_files import load_procedure
from voice_trainer.procedures.approach import Approach
from voice_trainer.procedures.card import card_of
from voice_trainer.procedures.derivation import drill_of
from voice_trainer.procedures.house_flow import PUBLISHED
from voice_trainer.procedures.today import Today

STORY_WIND = Wind(240, 18)


def approach(name: str) -> Approach:
    found = load_procedure(builtin_procedures()[name])
    assert isinstance(found, Approach)
    return found


def kelda(flow: str = "six ts", wind: Wind = STORY_WIND) -> Drill:
    return drill_of(approach("kelda-vor-15"), Today(profile_named("turboprop"), wind), PUBLISHED[flow])


def calls(drill: Drill, step: str) -> dict[str, Call]:
    flow = drill.step_named(step).flow
    assert flow is not None
    return {call.call: call for call in flow.calls}


def value(drill: Drill, step: str, call: str, slot: str) -> str:
    return drill.pattern(calls(drill, step)[call]).expected[slot]


@pytest.mark.parametrize("flow", PUBLISHED)
@pytest.mark.parametrize("name", builtin_procedures())
def test_every_approach_is_a_drill_in_every_published_order(name: str, flow: str) -> None:
    drill = flown_drill(load_procedure(builtin_procedures()[name]), name, Wanted(flow=flow))
    card = card_of(drill)
    assert all(call.said for step in card.steps for call in step.calls)
    assert all(step.when == "settled" or step.when in drill.conditions for step in drill.steps)


@pytest.mark.parametrize(
    ("flow", "order"),
    [
        # CNATRA P-340 ch. 6: time, turn, time, transition, twist, talk; the second time is the wings-level clock.
        ("six ts", ["time", "turn", "transition", "twist", "talk"]),
        # CNATRA P-801 ch. 7.
        ("six ts with track", ["time", "turn", "transition", "twist", "talk", "track"]),
        # As civil schools teach it (common practice).
        ("five ts", ["turn", "time", "twist", "throttle", "talk"]),
    ],
)
def test_the_checks_come_in_the_order_of_the_house(flow: str, order: list[str]) -> None:
    assert list(calls(kelda(flow), "crossing outbound")) == order


def test_the_numbers_of_the_story_s_wind() -> None:
    """Worked out by hand: asin(18 sin(93) / 150) is 6.9 degrees to the left of 333; P-553; t = 3600 d / GS."""
    drill = kelda()
    assert value(drill, "crossing outbound", "turn", "heading") == f"{333 - round(6.88):03d}"
    assert value(drill, "procedure turn", "turn", "heading") == "288"
    assert value(drill, "turn inbound", "turn", "heading") == "108"
    correction = math.asin(18 * math.sin(math.radians(240 - 153)) / 110)
    groundspeed = 110 * math.cos(correction) - 18 * math.cos(math.radians(240 - 153))
    seconds = round(3600 * 4.6 / groundspeed)
    assert value(drill, "set-up and brief", "timing", "duration") == f"{seconds // 60}:{seconds % 60:02d}"
    assert drill.step_named("missed approach point").when == f"clock {seconds // 60}:{seconds % 60:02d}"


def test_in_still_air_the_heading_is_the_course() -> None:
    drill = kelda(wind=Wind(360, 0))
    assert value(drill, "crossing outbound", "turn", "heading") == "333"
    assert calls(drill, "crossing outbound")["turn"].because == "The course is 333, and there is no wind."


def test_a_leg_timed_from_the_start_of_its_turn_is_75_seconds_for_a_faster_category() -> None:
    """CNATRA P-553 note 2: one minute for categories A and B, 1:15 for C, D and E, from the start of the turn."""
    flow = PUBLISHED["six ts"].model_copy(update={"leg_timed_from": "start of the turn"})
    for name, when in (("piston", "clock 1:00"), ("jet trainer", "clock 1:15")):
        drill = drill_of(approach("kelda-vor-15"), Today(profile_named(name), STORY_WIND), flow)
        assert "clock" in calls(drill, "procedure turn")
        assert drill.step_named("turn inbound").when == when
        assert not any(step.step == "procedure turn leg" for step in drill.steps)


@pytest.mark.parametrize("name", ["hold-dunmar-teardrop", "hold-yarrow-parallel"])
def test_the_turn_into_an_entry_goes_the_shorter_way_whatever_the_wind(name: str) -> None:
    """To the heading that is corrected for the wind, from that of the arrival: c = asin(w sin(a) / v)."""
    hold = load_procedure(builtin_procedures()[name])
    arrival = (hold.start.radial_degrees + 180) % 360
    knots = {"piston": 100.0, "jet trainer": 200.0}[hold.profile]
    for direction in range(10, 361, 10):
        drill = flown_drill(hold, name, Wanted(wind=Wind(direction, 22)))
        over = calls(drill, "hold over the fix")
        if "turn" not in over:
            continue
        heading = arrival + math.degrees(math.asin(22 * math.sin(math.radians(direction - arrival)) / knots))
        to = float(value(drill, "hold over the fix", "turn", "heading"))
        way = (to - heading + 180) % 360 - 180
        assert over["turn"].say.startswith("turn right" if way > 0 else "turn left"), (direction, heading, to)


def test_what_is_not_required_is_said_only_where_the_house_says_it() -> None:
    assert "turn" in calls(kelda(), "final approach fix")
    quiet = PUBLISHED["six ts"].model_copy(update={"not_required_said": ()})
    drill = drill_of(approach("kelda-vor-15"), Today(profile_named("turboprop")), quiet)
    assert "turn" not in calls(drill, "final approach fix")


def test_the_runway_in_sight_ends_it_otherwise() -> None:
    seen = drill_of(
        approach("kelda-vor-15"),
        Today(profile_named("turboprop"), STORY_WIND, runway_in_sight=True),
        PUBLISHED["six ts"],
    )
    names = [step.step for step in seen.steps]
    assert "runway" in names
    assert "missed approach point" not in names
    assert not any(
        call.need == "forbidden" and call.call == "runway" for call in calls(seen, "minimums").values()
    )


def test_every_computed_number_says_how_it_came_about() -> None:
    for name in builtin_procedures():
        drill = flown_drill(load_procedure(builtin_procedures()[name]), name, Wanted())
        for step in drill.steps:
            for call in step.flow.calls if step.flow else ():
                assert call.because, (name, step.step, call.call)
