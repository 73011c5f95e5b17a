"""The visual descent point; the examples are an instrument textbook's, as reprinted."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.descent import gradient_feet_per_nm
from voice_trainer.flight.timing import duration_seconds, duration_text, leg_seconds
from voice_trainer.flight.visual_descent import (
    seconds_before_missed,
    seconds_from_fix,
    seconds_from_fix_by_groundspeed,
    visual_descent_point_nm,
)


# Computed: 400 feet are 1.33 miles by 300, 1.26 by 318.
def test_by_distance() -> None:
    assert visual_descent_point_nm(400) == pytest.approx(1.33, abs=0.005)
    assert visual_descent_point_nm(400, "exact") == pytest.approx(1.26, abs=0.005)
    assert visual_descent_point_nm(400, "exact") == pytest.approx(400 / 318, abs=0.002)


# The example rounds the distance to 1.3 miles: at 114 knots, 1.9 a minute, 41 seconds; 4:45 becomes 4:04. A
# tenth of the height gives 40 seconds.
def test_by_groundspeed() -> None:
    distance = round(visual_descent_point_nm(400), 1)
    assert distance == 1.3
    assert leg_seconds(distance, 114) == pytest.approx(41, abs=0.5)
    left = seconds_from_fix_by_groundspeed(duration_seconds("4:45"), distance, 114)
    assert duration_text(left) == "4:04"
    assert seconds_before_missed(400) == 40
    assert duration_text(seconds_from_fix(duration_seconds("4:45"), 400)) == "4:05"


# 350 feet and 3:35 give 3:00.
def test_by_a_tenth_of_the_height() -> None:
    assert duration_text(seconds_from_fix(duration_seconds("3:35"), 350)) == "3:00"


# The tenth of a second for a foot comes of 300 feet a mile at 120 knots.
@given(st.floats(100, 1000))
def test_the_two_rules_of_time_agree_at_120_knots(height: float) -> None:
    by_speed = seconds_from_fix_by_groundspeed(600, visual_descent_point_nm(height), 120)
    assert by_speed == pytest.approx(seconds_from_fix(600, height))


@given(st.floats(50, 1500), st.floats(2, 6))
def test_the_exact_point_and_back(height: float, degrees: float) -> None:
    distance = visual_descent_point_nm(height, "exact", degrees)
    assert distance * gradient_feet_per_nm(degrees) == pytest.approx(height)


def test_a_point_before_the_fix() -> None:
    with pytest.raises(
        ValueError, match="60 seconds before the missed approach point, lies before the final"
    ):
        seconds_from_fix(50, 600)


@pytest.mark.parametrize("height", [0.0, -10.0, float("nan")])
def test_minimums_are_above_touchdown(height: float) -> None:
    with pytest.raises(ValueError, match="above touchdown"):
        visual_descent_point_nm(height)
    with pytest.raises(ValueError, match="above touchdown"):
        seconds_before_missed(height)


def test_a_level_path_never_lands() -> None:
    with pytest.raises(ValueError, match="more than 0 degrees"):
        visual_descent_point_nm(400, "exact", 0)
