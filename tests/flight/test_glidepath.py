"""A glidepath over a flat earth and over a round one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.descent import gradient_feet_per_nm
from voice_trainer.flight.glidepath import Glidepath

FLAT = Glidepath(3.0, threshold_elevation_feet=200)
ROUND = Glidepath(3.0, threshold_elevation_feet=200, curved=True)
paths = st.builds(Glidepath, st.floats(2, 6), st.floats(-100, 9000), st.floats(0, 100), st.booleans())


# Computed: threshold + crossing height + distance x 318.44.
@pytest.mark.parametrize(("distance", "feet"), [(0, 250), (1, 568.4), (5, 1842.2), (10, 3434.4)])
def test_flat(distance: float, feet: float) -> None:
    assert FLAT.altitude_feet(distance) == pytest.approx(feet, abs=0.06)
    assert FLAT.altitude_feet(distance) == pytest.approx(250 + distance * gradient_feet_per_nm(3))


# Computed: the earth falls away by distance^2 / 2R, 0.884 feet for the square of a mile, counted from where the
# beam meets the ground, 0.157 miles beyond the threshold.
@pytest.mark.parametrize(("distance", "gain"), [(1, 1.18), (5, 23.5), (10, 91.2)])
def test_a_round_earth_adds_to_it(distance: float, gain: float) -> None:
    assert ROUND.altitude_feet(distance) - FLAT.altitude_feet(distance) == pytest.approx(gain, rel=0.02)


@given(paths, st.floats(0.01, 40))
def test_met_where_it_comes_down_to_an_altitude(path: Glidepath, distance: float) -> None:
    altitude = path.altitude_feet(distance)
    if altitude > path.threshold_elevation_feet + 1:
        assert path.intercept_distance_nm(altitude) == pytest.approx(distance, abs=1e-5)
        assert path.deviation_degrees(distance, altitude) == pytest.approx(0, abs=1e-6)


@given(paths, st.floats(0.5, 40), st.floats(1, 500))
def test_above_and_below(path: Glidepath, distance: float, off: float) -> None:
    altitude = path.altitude_feet(distance)
    assert path.deviation_degrees(distance, altitude + off) > 0
    assert path.deviation_degrees(distance, altitude - off) < 0


# Computed: 0.35 degrees, one of two dots, is 37 feet for each mile from where the beam meets the ground.
def test_dots() -> None:
    one_dot_high = FLAT.altitude_feet(5) + 37.2 * (5 + FLAT.origin_nm)
    assert FLAT.dots_above(5, one_dot_high) == pytest.approx(1, abs=0.01)
    assert FLAT.dots_above(5, 5000) == 2
    assert FLAT.dots_above(5, 300) == -2


@pytest.mark.parametrize("path", [FLAT, ROUND])
def test_beyond_the_beam(path: Glidepath) -> None:
    assert path.altitude_feet(-path.origin_nm / 2) == pytest.approx(225, abs=0.1)
    with pytest.raises(ValueError, match=r"no glidepath 0.5 miles beyond the threshold"):
        path.altitude_feet(-0.5)
    with pytest.raises(ValueError, match="no glidepath is met there"):
        path.intercept_distance_nm(200)


@pytest.mark.parametrize(
    ("degrees", "crossing"), [(0.0, 50.0), (90.0, 50.0), (3.0, -1.0), (float("nan"), 50.0)]
)
def test_no_such_beam(degrees: float, crossing: float) -> None:
    with pytest.raises(ValueError, match="give an angle of 0 to 90"):
        Glidepath(degrees, 0, crossing)


def test_a_beam_does_not_go_round_the_earth() -> None:
    with pytest.raises(ValueError, match="goes round"):
        ROUND.altitude_feet(6000)
