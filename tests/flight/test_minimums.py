"""Minimums alerts by a house's rule, approach categories, and going below minimums."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.minimums import (
    ALERT_RULES,
    Alert,
    AlertRule,
    Category,
    Sight,
    alert,
    category_by_speed,
    category_to_use,
    is_missed_approach_turn_allowed,
    lowest_feet,
)


# House rules: there is no source but the house.
@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("none", None),
        ("minimums", Alert(741, 741)),
        ("minimums plus 100 feet", Alert(841, 841)),
        ("height above touchdown", Alert(523, 741)),
        ("height above touchdown, next 10 feet", Alert(530, 748)),
        ("height above touchdown, next 50 feet", Alert(550, 768)),
        ("height above touchdown, next 100 feet", Alert(600, 818)),
    ],
)
def test_each_house_rule(name: str, expected: Alert | None) -> None:
    assert alert(741, 218, ALERT_RULES[name]) == expected


def test_every_rule_is_tested_above() -> None:
    assert len(ALERT_RULES) == 7


def test_a_multiple_stays() -> None:
    assert alert(700, 200, ALERT_RULES["height above touchdown, next 100 feet"]) == Alert(500, 700)


@given(st.integers(1, 2000), st.integers(-100, 9000), st.sampled_from([r for r in ALERT_RULES.values() if r]))
def test_no_alert_is_below_minimums(height: int, touchdown: int, rule: AlertRule) -> None:
    found = alert(touchdown + height, touchdown, rule)
    assert found is not None
    assert touchdown + height <= found.altitude_feet <= touchdown + height + 100


def test_minimums_below_the_ground() -> None:
    with pytest.raises(ValueError, match="minimums of 200 feet are not above a touchdown elevation of 200"):
        alert(200, 200, None)
    with pytest.raises(ValueError, match="round up to the next"):
        AlertRule("altitude", round_up_to_feet=0)


# Pilot/Controller Glossary: A below 91, B 91 to below 121, C to below 141, D to below 166, E from 166.
@pytest.mark.parametrize(
    ("below", "category", "first"), [(90.9, "A", 0), (120.9, "B", 91), (140.9, "C", 121), (165.9, "D", 141)]
)
def test_categories(below: float, category: Category, first: float) -> None:
    assert category_by_speed(first) == category
    assert category_by_speed(below) == category


def test_the_fastest_category() -> None:
    assert category_by_speed(166) == "E"
    with pytest.raises(ValueError, match="0 knots or more"):
        category_by_speed(-1)


# AIM 5-4-7a: category B circling at 145 knots uses D; category A straight in at 130 uses C.
def test_the_minimums_of_the_speed_flown() -> None:
    assert category_to_use("B", 145) == "D"
    assert category_to_use("A", 130) == "C"
    assert category_to_use("D", 100) == "D"


ALL_WELL = Sight(in_position_to_land=True, flight_visibility_met=True, runway_reference_seen=True)


# 14 CFR 91.175(c), from memory; the descent point: AIM 5-4-5f.
@pytest.mark.parametrize(
    ("sight", "lowest"),
    [
        (ALL_WELL, 200),
        (replace(ALL_WELL, in_position_to_land=False), 700),
        (replace(ALL_WELL, flight_visibility_met=False), 700),
        (replace(ALL_WELL, reached_descent_point=False), 700),
        (replace(ALL_WELL, runway_reference_seen=False), 700),
        (replace(ALL_WELL, runway_reference_seen=False, approach_lights_seen=True), 300),
        (replace(ALL_WELL, runway_reference_seen=False, approach_lights_seen=True, red_bars_seen=True), 200),
    ],
)
def test_how_low(sight: Sight, lowest: float) -> None:
    assert lowest_feet(700, 200, sight) == lowest


def test_lights_never_raise_the_minimums() -> None:
    lights = replace(ALL_WELL, runway_reference_seen=False, approach_lights_seen=True)
    assert lowest_feet(280, 200, lights) == 280


# AIM 5-5-5a4 and 5-4-21: to the missed approach point before turning, unless control says otherwise.
def test_an_early_missed_approach_does_not_turn_early() -> None:
    assert not is_missed_approach_turn_allowed(passed_missed_approach_point=False)
    assert is_missed_approach_turn_allowed(passed_missed_approach_point=True)
    assert is_missed_approach_turn_allowed(passed_missed_approach_point=False, told_by_control=True)
