"""Published tolerances, the gates of a stable approach, and callouts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from voice_trainer.flight.tolerances import (
    ALTITUDE_CALLOUTS,
    TOLERANCES,
    Approach,
    SpeedWindow,
    Weather,
    unstable_reasons,
)


# FAA-S-8081-4D, holding, read as an excerpt: 10 knots, 100 feet, 10 degrees, three quarters of the needle.
def test_the_practical_test_in_a_hold() -> None:
    hold = TOLERANCES["PTS holding"]
    assert hold.is_airspeed_kept(110, 100)
    assert not hold.is_airspeed_kept(89.9, 100)
    assert hold.is_altitude_kept(2900, 3000)
    assert not hold.is_altitude_kept(3101, 3000)
    assert hold.is_heading_kept(5, 355)
    assert not hold.is_heading_kept(5.1, 355)
    assert hold.is_needle_kept(-0.75)
    assert not hold.is_needle_kept(0.76)


# CNATRAINST 1542.140C: headings 5 degrees, final course of a VOR or TACAN 3 degrees, minimums +100 and -0.
def test_the_navys() -> None:
    navy = TOLERANCES["Navy instrument"]
    assert navy.is_heading_kept(355, 360)
    assert not navy.is_heading_kept(354.9, 360)
    assert navy.is_final_course_kept(-3)
    assert not navy.is_final_course_kept(3.1)
    assert navy.are_minimums_kept(700, 700)
    assert navy.are_minimums_kept(800, 700)
    assert not navy.are_minimums_kept(699, 700)
    assert not navy.are_minimums_kept(801, 700)


def test_what_a_set_does_not_say_is_kept() -> None:
    assert TOLERANCES["Navy instrument"].is_airspeed_kept(300, 100)
    assert TOLERANCES["Navy instrument"].is_needle_kept(1.0)
    assert TOLERANCES["Navy instrument"].is_altitude_kept(0, 3000)
    assert TOLERANCES["PTS holding"].are_minimums_kept(0, 700)
    assert TOLERANCES["PTS holding"].is_final_course_kept(90)


# The house set is ours: the wider of what is published.
@pytest.mark.parametrize("name", ["PTS holding", "Navy instrument"])
def test_the_house_is_never_stricter_than_what_is_published(name: str) -> None:
    house, other = TOLERANCES["house"], TOLERANCES[name]  # type: ignore[index]
    for field in (
        "airspeed_knots",
        "altitude_feet",
        "heading_degrees",
        "final_course_degrees",
        "needle_part",
    ):
        published = getattr(other, field)
        assert published is None or getattr(house, field) >= published
    assert house.minimums_minus_feet == 0


STABLE = Approach(height_above_airport_feet=900, sink_fpm=600, airspeed_knots=105)


# Flight Safety Foundation's elements and the Instrument Procedures Handbook, both as reprinted: by 1,000 feet in
# instrument and 500 in visual conditions, 1,000 feet a minute, one dot, configured, checklists done.
@pytest.mark.parametrize(
    ("approach", "reasons"),
    [
        (STABLE, ()),
        (replace(STABLE, sink_fpm=1000), ()),
        (replace(STABLE, sink_fpm=1001), ("sink",)),
        (replace(STABLE, dots_off=-1.0), ()),
        (replace(STABLE, dots_off=-1.1), ("off course",)),
        (replace(STABLE, configured=False, checklists_done=False), ("configuration", "checklists")),
        (replace(STABLE, bank_degrees=20), ()),
        (replace(STABLE, bank_degrees=-15, height_above_airport_feet=499), ("bank",)),
        (replace(STABLE, bank_degrees=14.9, height_above_airport_feet=499), ()),
    ],
)
def test_a_stable_approach(approach: Approach, reasons: tuple[str, ...]) -> None:
    assert unstable_reasons(approach, reference_knots=100) == reasons


@pytest.mark.parametrize(("weather", "gate"), [("instrument", 1000), ("visual", 500)])
def test_the_gates(weather: Weather, gate: float) -> None:
    rough = replace(STABLE, sink_fpm=1500)
    assert unstable_reasons(replace(rough, height_above_airport_feet=gate + 1), 100, weather) == ()
    assert unstable_reasons(replace(rough, height_above_airport_feet=gate), 100, weather) == ("sink",)


# The sources differ: reference to 20 more (its lower end from memory), or 10 more to 5 less.
@pytest.mark.parametrize(
    ("window", "slow", "fast"), [("reference to plus 20", 100, 120), ("plus 10 minus 5", 95, 110)]
)
def test_the_speed_windows(window: SpeedWindow, slow: float, fast: float) -> None:
    for knots, reasons in ((slow, ()), (fast, ()), (slow - 0.1, ("speed",)), (fast + 0.1, ("speed",))):
        assert unstable_reasons(replace(STABLE, airspeed_knots=knots), 100, window=window) == reasons


# AFI 11-2C-130v3 (2012), read as an excerpt; CNATRA P-862.
def test_callouts() -> None:
    air_force, navy = ALTITUDE_CALLOUTS.values()
    assert [(c.before, c.feet) for c in air_force] == [
        ("assigned altitude", 1000),
        ("final approach fix or step-down", 100),
        ("minimums", 100),
        ("minimums", 0),
    ]
    assert air_force[2].words == "approaching minimums"
    assert [(c.before, c.feet, c.below_feet_above_ground) for c in navy] == [
        ("assigned altitude", 1000, None),
        ("assigned altitude", 200, 1000),
        ("minimums", 0, None),
    ]
