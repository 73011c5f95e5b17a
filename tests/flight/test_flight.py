"""Whole flights: the events, each once and at its time, and the panel."""

from __future__ import annotations

import math
import sys
from dataclasses import astuple

import pytest
from flying import Command, flown, inbound, names, plans, winds
from hypothesis import given, settings
from hypothesis import strategies as st

from voice_trainer.flight.commands import CommandError
from voice_trainer.flight.conditions import ConditionError, matches, parse_condition
from voice_trainer.flight.courses import signed_difference
from voice_trainer.flight.flight import FlownEvent
from voice_trainer.flight.wind import CALM, Wind

QUICK = settings(max_examples=40, deadline=None)
WATCH = frozenset({"clock 0:20", "clock 1:00", "passing 2800", "established 153", "established 020", "level"})


def times(events: list[FlownEvent], name: str) -> list[float]:
    return [event.at_seconds for event in events if event.name == name]


def test_over_the_station_at_the_moment_of_the_reversal() -> None:
    _, events = flown(inbound(), [], 120.0)
    # Two miles at 120 knots are a minute; half a mile is a quarter of one.
    assert names(events) == ["nearing KLD", "passage KLD"]
    assert times(events, "nearing KLD") == pytest.approx([45.0], abs=0.15)
    assert times(events, "passage KLD") == pytest.approx([60.0], abs=0.15)
    assert events[1].values == {"fix": "KLD"}


def test_twisting_the_course_is_no_passage() -> None:
    twists = [Command(10.0, "course", {"course": "153"}), Command(20.0, "course", {"course": "333"})]
    _, events = flown(inbound(), twists, 40.0)
    assert events == []


@pytest.mark.parametrize("course", ["153", "333", "010"])
def test_the_station_is_passed_once_whatever_the_course(course: str) -> None:
    flight = inbound(radial_degrees=150.0, distance_nm=2.0)
    commands = [
        Command(30.0, "course", {"course": course}),
        Command(62.0, "course", {"course": "345"}),
        Command(64.0, "course", {"course": "020"}),
    ]
    _, events = flown(flight, commands, 100.0)
    assert names(events).count("passage KLD") == 1


def test_a_second_time_over_the_station_is_a_second_passage() -> None:
    back = [
        Command(70.0, "turn", {"heading": "153", "left/right": "left"}),
        Command(70.0, "course", {"course": "153"}),
    ]
    _, events = flown(inbound(), back, 240.0)
    assert names(events) == ["nearing KLD", "passage KLD", "wings level 153", "passage KLD"]


def test_wings_level_names_the_heading_that_was_told() -> None:
    _, events = flown(inbound(), [Command(0.0, "turn", {"heading": "288", "left/right": "left"})], 40.0)
    assert names(events) == ["wings level 288"]
    assert events[0].values == {"heading": "288"}
    assert events[0].at_seconds == pytest.approx(15.0 + 3.0, abs=1.0)


@pytest.mark.parametrize(("heading", "events"), [("324", []), ("323", ["wings level 323"])])
def test_only_ten_degrees_are_a_turn(heading: str, events: list[str]) -> None:
    assert names(flown(inbound(), [Command(0.0, "turn", {"heading": heading})], 30.0)[1]) == events


def test_a_turn_that_is_corrected_halfway_ends_once() -> None:
    commands = [
        Command(0.0, "turn", {"heading": "200", "left/right": "left"}),
        Command(10.0, "turn", {"heading": "020", "left/right": "right"}),
    ]
    assert names(flown(inbound(distance_nm=20.0), commands, 90.0)[1]) == ["wings level 020"]


def test_small_corrections_do_not_add_up_to_a_turn() -> None:
    commands = [
        Command(float(second), "turn", {"heading": heading})
        for second, heading in ((0, "338"), (20, "343"), (40, "338"), (60, "333"))
    ]
    assert flown(inbound(distance_nm=20.0), commands, 90.0)[1] == []


def test_the_clock_reads_what_is_watched_for() -> None:
    flight = inbound(distance_nm=30.0, watch=["clock 0:20", "clock 1:00"])
    _, events = flown(flight, [Command(12.34, "clock", {})], 200.0)
    assert [(event.name, event.values) for event in events] == [
        ("clock 0:20", {"time": "0:20"}),
        ("clock 1:00", {"time": "1:00"}),
    ]
    assert [event.at_seconds for event in events] == pytest.approx([32.4, 72.4])


@given(st.integers(0, 3000))
@QUICK
def test_a_reading_on_the_tenth_is_not_a_step_late(tenths: int) -> None:
    start = tenths / 10
    flight = inbound(distance_nm=30.0, seconds=start, watch=["clock 0:20"])
    _, events = flown(flight, [Command(start, "clock", {})], start + 25.0)
    assert [event.at_seconds for event in events] == pytest.approx([start + 20.0])


def test_a_clock_started_anew_reads_anew() -> None:
    flight = inbound(distance_nm=30.0, watch=["clock 0:20"])
    commands = [Command(at, "clock", {}) for at in (0.0, 15.0, 50.0)]
    _, events = flown(flight, commands, 100.0)
    assert [event.at_seconds for event in events] == [35.0, 70.0]


def test_no_clock_no_reading() -> None:
    assert flown(inbound(distance_nm=30.0, watch=["clock 0:20"]), [], 60.0)[1] == []


def test_level_comes_once_after_a_change() -> None:
    flight = inbound(distance_nm=30.0, watch=["passing 2800", "passing 2600", "passing 2500"])
    _, events = flown(flight, [Command(0.0, "altitude", {"altitude": "2600"})], 120.0)
    assert names(events) == ["passing 2800", "level 2600", "passing 2600"]
    assert events[1].values == {"altitude": "2600"}
    # 400 feet at 1,000 a minute, and the levelling off.
    assert events[1].at_seconds == pytest.approx(24.0 + 5.0, abs=3.0)


def test_told_to_stay_where_it_passes_it_is_level_only_when_it_stays() -> None:
    commands = [
        Command(0.0, "altitude", {"altitude": "2600"}),
        Command(14.0, "altitude", {"altitude": "2800"}),
    ]
    flight, events = flown(inbound(distance_nm=30.0), commands, 15.0)
    assert abs(flight.state.altitude_feet - 2800.0) < 20.0
    assert events == []
    flight, events = flown(flight, [], 60.0)
    assert names(events) == ["level 2800"]


def test_told_the_altitude_it_has_nothing_happens() -> None:
    assert flown(inbound(distance_nm=30.0), [Command(0.0, "altitude", {"altitude": "3000"})], 30.0)[1] == []


def test_established_when_the_needle_comes_in_on_a_heading_that_goes_there() -> None:
    flight = inbound(
        radial_degrees=310.0,
        distance_nm=6.0,
        heading_degrees=108.0,
        course_degrees=153.0,
        watch=["established 153"],
    )
    _, events = flown(flight, [], 170.0)
    assert names(events) == ["established 153"]
    early, _ = flight.advance(events[0].at_seconds - 0.1)
    on, _ = flight.advance(events[0].at_seconds)
    needles = [abs(f.vor.needle_degrees(f.state.east_nm, f.state.north_nm, 153.0)) for f in (early, on)]
    assert needles[0] > 5.0 >= needles[1]


def test_outbound_on_the_radial_is_not_established_inbound() -> None:
    flight = inbound(radial_degrees=333.0, watch=["established 153"])
    assert flown(flight, [], 60.0)[1] == []


def test_along_the_course_and_past_the_station_it_is_established_once() -> None:
    flight = inbound(
        radial_degrees=333.0, heading_degrees=153.0, course_degrees=153.0, watch=["established 153"]
    )
    assert names(flown(flight, [], 200.0)[1]) == ["established 153", "nearing KLD", "passage KLD"]


# A whole procedure turn, as a student would call it: out for a minute, 45 degrees left for a minute, back.
def test_a_procedure_turn() -> None:
    flight = inbound(watch=["clock 1:00", "established 153"])
    commands = [
        Command(61.0, "clock", {}),
        Command(121.0, "turn", {"heading": "288", "left/right": "left"}),
        Command(139.0, "clock", {}),
        Command(199.0, "turn", {"heading": "108", "left/right": "right"}),
        Command(205.0, "course", {"course": "153"}),
        Command(285.0, "turn", {"heading": "153"}),
    ]
    flight, events = flown(flight, commands, 420.0)
    assert names(events)[:4] == ["nearing KLD", "passage KLD", "clock 1:00", "wings level 288"]
    assert names(events)[4:7] == ["clock 1:00", "wings level 108", "established 153"]
    assert set(names(events)[7:]) <= {"wings level 153", "nearing KLD", "passage KLD"}
    assert times(events, "passage KLD")[0] == pytest.approx(60.0, abs=0.15)
    assert names(events).count("passage KLD") == 2


@QUICK
@given(plans, winds, st.lists(st.floats(0, 90), max_size=6))
def test_any_flight_is_sane_repeatable_and_does_not_depend_on_who_looks(
    plan: list[Command], wind: Wind, looks: list[float]
) -> None:
    flight = inbound(distance_nm=1.0, wind=wind, watch=WATCH)
    once, events = flown(flight, plan, 90.0)
    assert flown(flight, plan, 90.0) == (once, events)
    assert all(math.isfinite(value) for value in astuple(once.state) if isinstance(value, float))

    # The same plan, with somebody looking in between: first what is due at a time, then the look.
    seen: list[FlownEvent] = []
    watched = flight
    due = sorted(plan, key=lambda command: command.at_seconds)
    for look in [*sorted(looks), 90.0]:
        while due and due[0].at_seconds <= look:
            command = due.pop(0)
            watched, more = watched.advance(command.at_seconds)
            seen += more
            watched = watched.do(command.verb, command.slots, command.at_seconds)
        watched, more = watched.advance(look)
        seen += more
    assert (watched, seen) == (once, events)

    _, samples = once.aeroplane.advance(120.0)
    for state in samples:
        assert 0.0 < state.heading_degrees <= 360.0
        assert abs(state.bank_degrees) <= 30.0
    for event in events:
        assert matches(parse_condition(event.name).kind, event.name)
        assert 0.0 < event.at_seconds <= 90.0


@QUICK
@given(plans, winds)
def test_every_long_flight_ends_where_it_was_told(plan: list[Command], wind: Wind) -> None:
    flight, events = flown(inbound(wind=wind), plan, 60.0)
    flight, more = flight.advance(700.0)
    state, targets = flight.state, flight.aeroplane.targets
    assert targets.heading_degrees is not None
    assert abs(signed_difference(state.heading_degrees, targets.heading_degrees)) < 1e-9
    assert (state.altitude_feet, state.airspeed_knots) == (targets.altitude_feet, targets.airspeed_knots)
    turns = [event.name for event in [*events, *more] if event.name.startswith("wings level")]
    assert len(turns) <= sum(command.verb == "turn" for command in plan)


def test_another_station_than_its_own_cannot_be_waited_for() -> None:
    with pytest.raises(ConditionError, match="'passage BRK': the station of this flight is KLD"):
        inbound(watch=["passage BRK"])
    with pytest.raises(ConditionError, match="is no condition"):
        inbound(watch=["overhead"])


def test_a_command_that_cannot_be_done_leaves_the_flight_as_it_was() -> None:
    flight = inbound()
    with pytest.raises(CommandError):
        flight.do("turn", {}, 0.0)
    assert flight == inbound()


def test_the_panel_at_the_start() -> None:
    assert inbound().panel() == {
        "heading": "333",
        "altitude": "3000",
        "speed": "120",
        "vertical speed": "0",
        "bank": "level",
        "course": "333",
        "flag": "TO",
        "needle": "centred",
        "clock": "stopped",
        "tuned": "KLD",
        "radial": "153",
        "distance": "2.0",
        "glidepath": "none",
        "gear": "up",
        "flaps": "up",
        "bug": "none",
        "minimums alert": "none",
        "wind": "calm",
    }


def test_the_panel_in_a_descending_turn() -> None:
    commands = [
        Command(0.0, "turn", {"heading": "153", "left/right": "left"}),
        Command(0.0, "altitude", {"altitude": "2000"}),
        Command(0.0, "clock", {}),
    ]
    panel = flown(inbound(), commands, 20.95)[0].panel()
    assert panel["clock"] == "0:20"
    assert panel["bank"] == "18 left"
    assert panel["vertical speed"] == "-1000"
    assert panel["altitude"].endswith("0")
    assert 265 < int(panel["heading"]) < 290


@pytest.mark.parametrize(
    ("radial", "needle"), [(150.0, "3 left"), (156.0, "3 right"), (140.0, "full left"), (166.0, "full right")]
)
def test_the_needle_of_the_panel(radial: float, needle: str) -> None:
    assert inbound(radial_degrees=radial).panel()["needle"] == needle


def test_six_minutes_are_flown_with_little_work() -> None:
    """Counted in calls of functions, which no busy machine changes; `scripts/bench flight` tells what they take."""
    flight = inbound(wind=Wind(360, 20), watch=WATCH).do(
        "turn", {"heading": "332", "left/right": "right"}, 0.0
    )
    calls = 0

    def counted(frame: object, event: str, argument: object) -> None:
        nonlocal calls
        calls += event == "call"

    before = sys.getprofile()
    sys.setprofile(counted)
    try:
        flight.advance(360.0)
    finally:
        sys.setprofile(before)
    assert calls < 400 * 360


def test_calm_is_what_a_flight_begins_with() -> None:
    assert inbound().aeroplane.wind == CALM
