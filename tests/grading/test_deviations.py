"""The flight behind the words: deviations from the limits of its segments."""

from __future__ import annotations

from typing import Any

import pytest

from tests.scenes import FLOWN_HEAD
from voice_trainer.drills.model import Drill
from voice_trainer.flight.tolerances import ToleranceSetName
from voice_trainer.grading.flight import Deviation, deviations_of
from voice_trainer.journal.events import Accepted, AnyDecision, AnyFact, Flown, Position, Settled, StepBegan

NAVAID = {"ident": "KLD", "name": "Kelda", "kind": "vor", "frequency": "114.3"}


def drill(*segments: dict[str, Any], area: dict[str, Any] | None = None) -> Drill:
    head = {key: value for key, value in FLOWN_HEAD.items() if key != "station"}
    step = {"step": "only", "when": "start", "cue": {"speaker": "instructor", "say": "go"}}
    aeroplane = FLOWN_HEAD["aeroplane"] | {"tuned": "KLD"}
    more = {"aeroplane": aeroplane, "navaids": [NAVAID], "segments": list(segments), "steps": [step]}
    return Drill.model_validate(head | more | ({"area": area} if area else {}))


def at(seconds: float, **where: float) -> Position:
    usual = {
        "east_nm": 0.0,
        "north_nm": 3.0,
        "altitude_feet": 3000.0,
        "heading_degrees": 360.0,
        "airspeed_knots": 150.0,
    }
    return Position(at_seconds=seconds, **(usual | where))


def found(flown: Drill, *records: AnyFact | AnyDecision, by: ToleranceSetName = "house") -> list[Deviation]:
    return list(deviations_of(flown, records, by))


FIRST = {"segment": "outbound", "begins": "start", "lowest_altitude_feet": 2600}
FINAL = {"segment": "final", "begins": "passage KLD", "lowest_altitude_feet": 820, "is_minimums": True}


@pytest.mark.parametrize(("feet", "is_one"), [(2600.0, False), (2500.0, False), (2499.0, True)])
def test_a_hundred_feet_are_allowed(feet: float, is_one: bool) -> None:
    """PTS FAA-S-8081-4D: 100 feet."""
    assert bool(found(drill(FIRST), at(1, altitude_feet=feet))) == is_one


@pytest.mark.parametrize(("feet", "is_one"), [(820.0, False), (800.0, False), (799.0, True)])
def test_below_the_minimums_nothing_is_allowed_and_it_is_critical(feet: float, is_one: bool) -> None:
    """MDA +100/-0 (CNATRA 1542.140C); an altimeter reads to twenty feet."""
    deviations = found(
        drill(FIRST, FINAL), Flown(at_seconds=1, name="passage KLD"), at(2, altitude_feet=feet)
    )
    assert [each.critical for each in deviations] == [True] * is_one


def test_a_stretch_is_one_deviation_with_its_worst_and_its_length() -> None:
    low = [at(float(n), altitude_feet=2600.0 - 100 * n) for n in range(6)]
    back = [at(float(n), altitude_feet=2600.0) for n in range(6, 9)]
    (only,) = found(drill(FIRST), *low, *back)
    assert (only.kind, only.at_seconds, only.seconds, only.by) == ("too low", 2.0, 3.0, 500.0)
    assert only.said == "500 feet below 2,600 in 'outbound', for 3 seconds."


def test_a_segment_ends_where_the_next_begins() -> None:
    flown = drill(FIRST, FINAL)
    assert not found(flown, Flown(at_seconds=1, name="passage KLD"), at(2, altitude_feet=1000.0))
    assert found(flown, at(2, altitude_feet=1000.0))


def test_too_fast_from_ten_knots_on() -> None:
    fast = drill(FIRST | {"fastest_knots": 200})
    assert not found(fast, at(1, airspeed_knots=210.0))
    assert found(fast, at(1, airspeed_knots=211.0))[0].kind == "too fast"


def test_a_course_counts_once_it_has_been_joined() -> None:
    course = drill(FIRST | {"navaid": "KLD", "course_degrees": 360})
    away, on = {"east_nm": 2.0, "north_nm": 5.0}, {"east_nm": 0.1, "north_nm": 4.0}
    assert not found(course, at(1, **away))
    (only,) = found(course, at(1, **on), at(2, **away))
    assert only.kind == "off course"
    close = {"east_nm": 0.5, "north_nm": 0.2}
    assert not found(course, at(1, **on), at(2, **close))


def test_published_tolerances_differ() -> None:
    course = drill(FIRST | {"navaid": "KLD", "course_degrees": 360})
    a_little = {"east_nm": 0.4, "north_nm": 5.0}  # 4.6 degrees
    on = {"east_nm": 0.0, "north_nm": 6.0}
    assert not found(course, at(1, **on), at(2, **a_little))
    assert found(course, at(1, **on), at(2, **a_little), by="Navy instrument")


def test_outside_the_area() -> None:
    inside = drill(FIRST, area={"navaid": "KLD", "limit_nm": 10})
    (only,) = found(
        inside, at(1, north_nm=9.9), at(2, north_nm=10.5), at(3, north_nm=11.0), at(4, north_nm=9.0)
    )
    assert (only.kind, only.by, only.seconds) == ("outside the area", 1.0, 1.0)


def with_turns() -> Drill:
    def step(name: str, *calls: dict[str, Any]) -> dict[str, Any]:
        when = "start" if name == "procedure turn" else "settled"
        return {
            "step": name,
            "when": when,
            "cue": {"speaker": "instructor", "say": "go"},
            "flow": {"calls": calls},
        }

    turn = {"call": "turn", "say": "turn left {heading: 288}", "does": "turn"}
    clock = {"call": "clock", "say": "start the clock", "does": "clock"}
    track = {"call": "track", "say": "intercept {course: 153}", "does": "track"}
    plain = drill({"segment": "outbound", "begins": "start"})
    steps = [step("procedure turn", turn, clock), step("inbound", track)]
    return Drill.model_validate(plain.model_dump(mode="json") | {"steps": steps})


def said(seconds: float, call: str, step: str = "procedure turn", **slots: str) -> Accepted:
    return Accepted(at_seconds=seconds, step=step, call=call, said=call, slots=slots, onset_seconds=seconds)


def left_out(seconds: float) -> Settled:
    what = {"step": "procedure turn", "call": "turn", "need": "required", "verdict": "missed", "expected": ""}
    return Settled.model_validate(what | {"at_seconds": seconds, "reason": "Not said."})


def straight(heading: float, first: int, last: int) -> list[Position]:
    return [at(float(n), heading_degrees=heading) for n in range(first, last)]


@pytest.mark.parametrize("decision", [said(10.0, "turn", heading="328"), left_out(10.0)])
def test_a_heading_that_was_called_wrong_or_left_out_is_off(decision: Accepted | Settled) -> None:
    """PTS FAA-S-8081-4D: 10 degrees."""
    records = [*straight(328.0, 0, 11), decision, *straight(328.0, 11, 31)]
    (only,) = found(with_turns(), *records)
    assert (only.kind, only.segment, only.limit, only.by) == ("off heading", "procedure turn", 288.0, 40.0)
    assert only.said == "40 degrees off the heading of 288 in 'procedure turn', for 15 seconds."


@pytest.mark.parametrize(
    ("heading", "is_one"), [(298.0, False), (299.0, True), (278.0, False), (277.0, True)]
)
def test_ten_degrees_of_heading_are_allowed_and_five_by_the_navys(heading: float, is_one: bool) -> None:
    records = [said(10.0, "turn", heading="288"), *straight(heading, 10, 30)]
    assert bool(found(with_turns(), *records)) == is_one
    assert found(with_turns(), *records, by="Navy instrument")


def test_while_it_turns_no_heading_is_graded() -> None:
    turning = [at(10.0 + n, heading_degrees=(48.0 + 3 * n) % 360) for n in range(80)]
    assert found(with_turns(), said(10.0, "turn", heading="288"), *turning) == []


def test_a_heading_is_owed_until_something_else_steers() -> None:
    right = [said(10.0, "turn", heading="288"), *straight(288.0, 10, 30)]
    tracks = said(30.0, "track", "inbound", course="153")
    assert found(with_turns(), *right, tracks, *straight(153.0, 30, 60)) == []
    assert (
        found(with_turns(), *right, StepBegan(at_seconds=30.0, step="inbound"), *straight(153.0, 30, 60))
        == []
    )
    assert found(with_turns(), *right, said(30.0, "clock"), *straight(153.0, 30, 60)) != []
