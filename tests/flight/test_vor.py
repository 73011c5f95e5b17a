"""The VOR indicator, against how the sources describe it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.courses import reciprocal, signed_difference
from voice_trainer.flight.vor import Vor

KLD = Vor("KLD", 3.0, -4.0)
radials = st.integers(1, 360)


@given(radials, st.floats(0.1, 60))
def test_a_place_on_a_radial_is_on_it(radial: int, distance: float) -> None:
    place = KLD.place(radial, distance)
    assert abs(signed_difference(KLD.radial_degrees(*place), radial)) < 1e-6
    assert abs(signed_difference(KLD.bearing_to_degrees(*place), reciprocal(radial))) < 1e-6
    assert KLD.distance_nm(*place) == pytest.approx(distance)


# AIM 1-1-4, the VOR receiver check: the needle is centred with 0 and FROM, or with 180 and TO (north of it).
def test_centred_with_360_from_or_180_to() -> None:
    place = KLD.place(360, 5)
    assert KLD.flag(*place, 360) == "FROM"
    assert KLD.flag(*place, 180) == "TO"
    assert KLD.needle_degrees(*place, 360) == pytest.approx(0.0, abs=1e-9)
    assert KLD.needle_degrees(*place, 180) == pytest.approx(0.0, abs=1e-9)


@given(radials, radials, st.floats(0.1, 60))
def test_the_flag_says_whether_the_course_leads_there(radial: int, course: int, distance: float) -> None:
    off = abs(signed_difference(radial, course))
    flag = KLD.flag(*KLD.place(radial, distance), course)
    if off < 89.99:
        assert flag == "FROM"
    if off > 90.01:
        assert flag == "TO"


# The needle points to the course: south-east of the station, inbound 333, east of course means fly left.
@pytest.mark.parametrize(
    ("radial", "course", "needle"),
    [
        (150, 333, -3.0),
        (156, 333, 3.0),
        (330, 333, 3.0),
        (336, 333, -3.0),
        (153, 153, 0.0),
        (243, 153, -90.0),
    ],
)
def test_the_needle_stands_where_the_course_is(radial: float, course: float, needle: float) -> None:
    assert KLD.needle_degrees(*KLD.place(radial, 6), course) == pytest.approx(needle, abs=1e-6)


# CNATRA P-871 App. C: one degree at 60 miles is one mile, at 30 miles half a mile; two at 30 are one.
@pytest.mark.parametrize(("distance", "degrees", "nm"), [(60, 1, 1.0), (30, 1, 0.5), (30, 2, 1.0)])
def test_sixty_to_one(distance: float, degrees: float, nm: float) -> None:
    aside = Vor("KLD").place(360 + degrees, distance)[0]
    assert aside == pytest.approx(nm, rel=0.05)


# Station passage is the first complete reversal of the TO/FROM indicator: AIM 5-3-2a1.
def test_station_passage_is_to_becoming_from() -> None:
    before, after = KLD.place(153, 0.02), KLD.place(333, 0.02)
    assert KLD.is_passed(before, after, 333)
    assert not KLD.is_passed(KLD.place(153, 0.06), before, 333)
    assert not KLD.is_passed(after, KLD.place(333, 0.06), 333)


def test_with_the_reciprocal_selected_the_station_is_passed_all_the_same() -> None:
    assert KLD.is_passed(KLD.place(153, 0.02), KLD.place(333, 0.02), 153)


def test_abeam_outbound_in_a_hold_is_no_passage() -> None:
    # Two miles west, flying north, inbound course 180: the indicator goes from FROM to TO.
    assert not KLD.is_passed(KLD.place(269.5, 2), KLD.place(270.5, 2), 180)


def test_a_wide_miss_is_a_passage_when_it_comes() -> None:
    assert KLD.is_passed(KLD.place(269.5, 2), KLD.place(270.5, 2), 360)
