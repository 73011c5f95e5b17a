"""The check of a VOR receiver: 14 CFR 91.171."""

from __future__ import annotations

import pytest

from voice_trainer.flight.receiver_check import (
    STATION_ACCURACY_DEGREES,
    TEST_SIGNAL_COURSES_DEGREES,
    TOLERANCE_DEGREES,
    Check,
    is_current,
    is_within_limits,
)
from voice_trainer.flight.vor import Vor


# 14 CFR 91.171 (2005): a test signal or a ground check 4 degrees, an airborne checkpoint 6, two receivers 4.
@pytest.mark.parametrize(
    ("check", "degrees"),
    [("test signal", 4), ("ground checkpoint", 4), ("airborne checkpoint", 6), ("dual", 4)],
)
def test_limits(check: Check, degrees: float) -> None:
    for expected in (360, 180, 2):
        assert is_within_limits(check, expected + degrees, expected)
        assert is_within_limits(check, expected - degrees, expected)
        assert not is_within_limits(check, expected + degrees + 0.1, expected)
        assert not is_within_limits(check, expected - degrees - 0.1, expected)


# 14 CFR 91.171: within the preceding 30 days.
def test_thirty_days() -> None:
    assert is_current(30)
    assert not is_current(31)
    with pytest.raises(ValueError, match="0 days old or more"):
        is_current(-1)


# AIM 1-1-4: a test signal centres the needle at 0 FROM or 180 TO, as if north of a station.
def test_a_test_signal() -> None:
    station = Vor("KLD")
    north = station.place(360, 1)
    for flag, course in TEST_SIGNAL_COURSES_DEGREES.items():
        assert station.flag(*north, course) == flag
        assert station.needle_degrees(*north, course) == pytest.approx(0, abs=1e-9)
    assert TEST_SIGNAL_COURSES_DEGREES == {"FROM": 360, "TO": 180}


# AIM: accuracy generally plus or minus 1 degree. It must be well within what a receiver may be off.
def test_the_stations_part() -> None:
    assert STATION_ACCURACY_DEGREES == 1
    assert min(TOLERANCE_DEGREES.values()) > STATION_ACCURACY_DEGREES
