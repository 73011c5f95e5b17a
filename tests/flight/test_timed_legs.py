"""Timed legs: a table in the form of printed charts, its times 3600 x distance / groundspeed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.timing import duration_seconds, duration_text, leg_seconds

SPEEDS = (60, 90, 120, 150, 180)
# Computed independently, to the nearest second; the row of speeds as charts print it (from memory).
TABLE = {
    3.9: "3:54 2:36 1:57 1:34 1:18",
    4.2: "4:12 2:48 2:06 1:41 1:24",
    4.8: "4:48 3:12 2:24 1:55 1:36",
    5.0: "5:00 3:20 2:30 2:00 1:40",
    5.4: "5:24 3:36 2:42 2:10 1:48",
    6.0: "6:00 4:00 3:00 2:24 2:00",
}


@pytest.mark.parametrize(
    ("distance", "speed", "time"),
    [(d, s, t) for d, row in TABLE.items() for s, t in zip(SPEEDS, row.split(), strict=True)],
)
def test_the_table_of_times(distance: float, speed: float, time: str) -> None:
    assert duration_text(leg_seconds(distance, speed)) == time


# CNATRA P-765 s.812 interpolates 2:20 for 110 knots between the entries for 90 and 120: not the exact time.
def test_exact_time_and_interpolated_time_differ_by_three_seconds() -> None:
    exact = leg_seconds(4.2, 110)
    interpolated = leg_seconds(4.2, 90) + (leg_seconds(4.2, 120) - leg_seconds(4.2, 90)) * (20 / 30)
    assert duration_text(exact) == "2:17"
    assert duration_text(interpolated) == "2:20"


@given(st.integers(0, 59_999))
def test_a_duration_reads_back(seconds: int) -> None:
    assert duration_seconds(duration_text(seconds)) == seconds


def test_half_a_second_counts_up() -> None:
    assert duration_text(59.5) == "1:00"
    assert duration_text(59.49) == "0:59"


@pytest.mark.parametrize("text", ["1:5", "01:05", "1:60", "65", "", "1:05 ", "-1:05", "1.05", "1:0٥"])
def test_what_is_no_duration(text: str) -> None:
    with pytest.raises(ValueError, match="not a time such as"):
        duration_seconds(text)


def test_no_leg_without_groundspeed_and_no_time_before_zero() -> None:
    with pytest.raises(ValueError, match="cannot be timed"):
        leg_seconds(5, 0)
    with pytest.raises(ValueError, match="zero seconds or more"):
        duration_text(-1)
