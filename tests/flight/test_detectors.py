"""What the detectors remember, seen through states given by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from flying import Command, aeroplane, flown, inbound, names

from voice_trainer.flight.aeroplane import AeroplaneState, Targets
from voice_trainer.flight.conditions import ConditionError
from voice_trainer.flight.detectors import Detectors
from voice_trainer.flight.navaids import Navaid

KLD = Navaid("KLD")


def on_radial(radial: float, heading: float = 153.0, distance: float = 6.0) -> AeroplaneState:
    east, north = KLD.place(radial, distance)
    return replace(aeroplane().state, east_nm=east, north_nm=north, heading_degrees=heading)


def observed(detectors: Detectors, states: list[AeroplaneState]) -> list[str]:
    found: list[str] = []
    for before, after in pairwise(states):
        detectors, happenings = detectors.observe(before, after, Targets.holding(after), KLD)
        found += [name for name, _ in happenings]
    return found


def test_a_needle_that_trembles_at_the_limit_is_established_once() -> None:
    trembling = [on_radial(333.0 - off) for off in (8.0, 5.2, 4.9, 5.1, 4.9, 5.3, 4.0)]
    assert observed(Detectors(frozenset({"established 153"})), trembling) == ["established 153"]


def test_a_course_that_was_lost_is_established_anew() -> None:
    lost = [on_radial(333.0 - off) for off in (8.0, 4.0, 11.0, 6.0, 4.0)]
    assert observed(Detectors(frozenset({"established 153"})), lost) == ["established 153"] * 2


def test_a_course_is_lost_by_turning_away() -> None:
    away = [on_radial(331.0, heading) for heading in (105.0, 105.0, 50.0, 105.0)]
    found = observed(Detectors(frozenset({"established 153"})), away)
    assert [name for name in found if name.startswith("established")] == ["established 153"] * 2


def test_several_things_at_once_come_in_a_fixed_order() -> None:
    detectors = Detectors(frozenset({"established 153", "established 150", "clock 0:10", "passing 2900"}))
    before = replace(
        on_radial(340.0, distance=0.6), altitude_feet=2950.0, clock_started_seconds=0.0, seconds=9.9
    )
    after = replace(
        on_radial(333.0, distance=0.51), altitude_feet=2850.0, clock_started_seconds=0.0, seconds=10.0
    )
    assert observed(detectors, [before, after]) == [
        "clock 0:10",
        "passing 2900",
        "established 150",
        "established 153",
    ]


def test_how_near_is_near_can_be_set() -> None:
    closing = [on_radial(333.0, distance=distance) for distance in (2.1, 1.9, 0.6, 0.4)]
    assert observed(Detectors(), closing) == ["nearing KLD"]
    assert observed(Detectors(nearing_nm=2.0), closing) == ["nearing KLD"]
    assert observed(Detectors(nearing_nm=2.0), closing[1:]) == []


# AIM 5-3-2a1 speaks of the *first* complete reversal. 0.3 miles to the right of the station, the course twisted
# 20 degrees to the left just after it: the indicator goes back to TO and reverses once more.
def test_a_twist_just_after_the_station_makes_no_second_passage() -> None:
    flight = inbound(radial_degrees=144.47, distance_nm=2.022)
    flight, events = flown(flight, [Command(62.0, "course", {"course": "313"})], 62.5)
    assert names(events) == ["nearing KLD", "passage KLD"]
    assert flight.panel()["flag"] == "TO"
    flight, events = flown(flight, [], 90.0)
    assert flight.panel()["flag"] == "FROM"
    assert events == []


@pytest.mark.parametrize("tenths", [7, 14, 24, 33])
def test_a_reading_is_not_late_for_the_sake_of_a_binary_fraction(tenths: int) -> None:
    # 0.1 * 24 is a hair more than 2.4, where the steps are.
    flight = inbound(distance_nm=30.0, watch=["clock 0:01"])
    _, events = flown(flight, [Command(0.1 * tenths, "clock", {})], 60.0)
    assert [event.at_seconds for event in events] == [tenths / 10 + 1.0]


def test_what_is_watched_must_be_a_condition() -> None:
    with pytest.raises(ConditionError, match="is no condition"):
        Detectors(frozenset({"overhead KLD"}))
    with pytest.raises(ConditionError, match="a reading such as"):
        Detectors().watching(frozenset({"clock one minute"}))
    assert Detectors().watching(frozenset({"level"})).watch == {"level"}
