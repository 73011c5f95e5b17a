"""From the fix to the missed approach point by the clock."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.approach_timing import (
    CHART_GROUNDSPEEDS_KNOTS,
    fix_to_missed_seconds,
    interpolated_seconds,
    timing_table,
)
from voice_trainer.flight.timing import duration_seconds, duration_text

# Computed by 3600 x distance / groundspeed, nearest second; the columns are a chart's, from memory.
TABLES = {
    3.9: "3:54 2:36 1:57 1:34 1:18",
    4.2: "4:12 2:48 2:06 1:41 1:24",
    4.8: "4:48 3:12 2:24 1:55 1:36",
    5.0: "5:00 3:20 2:30 2:00 1:40",
    5.4: "5:24 3:36 2:42 2:10 1:48",
    6.0: "6:00 4:00 3:00 2:24 2:00",
}


@pytest.mark.parametrize(("distance", "row"), TABLES.items())
def test_the_whole_table(distance: float, row: str) -> None:
    table = timing_table(distance)
    assert tuple(table) == CHART_GROUNDSPEEDS_KNOTS == (60, 90, 120, 150, 180)
    assert " ".join(duration_text(seconds) for seconds in table.values()) == row
    for knots, seconds in table.items():
        assert fix_to_missed_seconds(distance, knots) == seconds
        assert fix_to_missed_seconds(distance, knots, "interpolated") == seconds


# CNATRA P-765 s.812: 120 knots less 10 of headwind is 110, "interpolated: 2 min 20 s". The distance is not
# shown; 4.2 miles by their table give it. Exactly, computed: 2:17.
def test_between_the_columns_the_rules_differ() -> None:
    table = {90: duration_seconds("2:48"), 120: duration_seconds("2:06")}
    assert interpolated_seconds(table, 110) == pytest.approx(duration_seconds("2:20"))
    assert fix_to_missed_seconds(4.2, 110, "interpolated") == duration_seconds("2:20")
    assert fix_to_missed_seconds(4.2, 110, "exact") == duration_seconds("2:17")


# A chord lies above a hyperbola: reading between columns never says a shorter time, but for the rounding.
@given(st.floats(1, 12), st.floats(60, 180))
def test_a_table_read_between_its_columns_is_never_early(distance: float, knots: float) -> None:
    exact = fix_to_missed_seconds(distance, knots)
    assert fix_to_missed_seconds(distance, knots, "interpolated") >= exact - 1


@pytest.mark.parametrize("knots", [59.9, 180.1])
def test_nothing_is_extrapolated(knots: float) -> None:
    with pytest.raises(ValueError, match="a table of 60 to 180 knots has no time for"):
        fix_to_missed_seconds(4.2, knots, "interpolated")
    with pytest.raises(ValueError, match="a table of no knots"):
        interpolated_seconds({}, knots)


@pytest.mark.parametrize("distance", [0.0, -1.0, float("nan"), float("inf")])
def test_no_distance_no_time(distance: float) -> None:
    with pytest.raises(ValueError, match="more than 0 miles"):
        fix_to_missed_seconds(distance, 90)
