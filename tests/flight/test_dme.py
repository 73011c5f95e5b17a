"""Slant range, and the cone overhead: plain geometry."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.descent import FEET_PER_NM
from voice_trainer.flight.dme import cone_radius_nm, ground_range_nm, is_in_cone, slant_range_nm


# FAA-H-8083-15, from memory: over the station at 6,000 feet the reading is one mile.
def test_overhead_it_reads_the_height() -> None:
    assert slant_range_nm(0, 6000) == pytest.approx(1.0, abs=0.02)
    assert slant_range_nm(0, FEET_PER_NM) == pytest.approx(1.0)


# AIM 1-1-7, from memory: the error is negligible at a mile or more for each thousand feet. Computed.
def test_far_away_height_does_not_matter() -> None:
    assert slant_range_nm(10, 10000) == pytest.approx(10.13, abs=0.006)
    assert slant_range_nm(3, 4 * FEET_PER_NM) == pytest.approx(5.0)


@given(st.floats(0, 200), st.floats(-1000, 45000))
def test_there_and_back(ground: float, height: float) -> None:
    slant = slant_range_nm(ground, height)
    assert slant >= ground
    assert ground_range_nm(slant, height) == pytest.approx(ground, abs=1e-6)


def test_nothing_reads_less_than_the_height() -> None:
    with pytest.raises(ValueError, match=r"no reading is less than 1.65 miles, not even 1"):
        ground_range_nm(1.0, 10000)
    with pytest.raises(ValueError, match="0 miles or more"):
        slant_range_nm(-1, 0)


def test_the_cone_widens_with_height() -> None:
    assert cone_radius_nm(FEET_PER_NM, 45) == pytest.approx(1.0)
    assert cone_radius_nm(FEET_PER_NM) == pytest.approx(1.19, abs=0.005)
    assert cone_radius_nm(-200) == 0.0
    assert cone_radius_nm(8000, 0) == 0.0
    with pytest.raises(ValueError, match="0 up to 90"):
        cone_radius_nm(8000, 90)


@given(st.floats(100, 40000), st.floats(1, 80))
def test_in_and_out_of_the_cone(height: float, degrees: float) -> None:
    radius = cone_radius_nm(height, degrees)
    assert is_in_cone(radius * 0.999, height, degrees)
    assert not is_in_cone(radius * 1.001, height, degrees)
