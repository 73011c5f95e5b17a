"""Leads and the 60:1 rule against the Navy's handbooks, and against geometry."""

from __future__ import annotations

import math

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight import leads, sixty_to_one, turns
from voice_trainer.flight.leads import Direction


# CNATRA P-871 App. C: 30 NM, 2 radials a mile; 10 NM, 6; one degree is one mile at 60; 2 radials at 30 NM, one mile.
def test_sixty_to_one() -> None:
    assert sixty_to_one.radials_per_nm(30) == 2
    assert sixty_to_one.radials_per_nm(10) == 6
    assert sixty_to_one.width_nm(1, 60) == 1
    assert sixty_to_one.width_nm(2, 30) == 1
    # The rule prints 100 feet a mile for a degree; the exact value was computed independently.
    assert sixty_to_one.gradient_feet_per_nm(1) == 100
    assert sixty_to_one.exact_gradient_feet_per_nm(1) == pytest.approx(106.06, abs=0.005)


# CNATRA P-340 Fig. 6-60: 120 knots, 0.6 NM, 12 DME: 5 radials a mile, 3 radials.
def test_the_lead_at_standard_rate() -> None:
    radius = turns.radius_by_rule_nm(120)
    assert radius == pytest.approx(0.6)
    assert sixty_to_one.radials_per_nm(12) == 5
    assert leads.lead_radials(12, radius) == pytest.approx(3)


# CNATRA P-1204 p. 76: half standard rate at 250 knots; it prints 21 for 7 DME.
@pytest.mark.parametrize(("dme", "radials"), [(20, 7.5), (15, 10), (10, 15), (7, 21), (5, 30)])
def test_the_leads_at_half_rate(dme: float, radials: float) -> None:
    radius = turns.radius_by_rule_nm(250, half_rate=True)
    assert radius == 2.5
    assert leads.lead_radials(dme, radius) == pytest.approx(radials, abs=0.5)


# CNATRA P-1204 p. 76: at 10 DME and 250 knots 17.9 (18) inbound, 12.9 (13) outbound. CNATRA P-1235 p. 1-16: a third;
# it gives the 40 and 20 that P-1204's table prints for 5 DME.
def test_the_corrected_leads() -> None:
    assert leads.corrected_lead_radials(10, 2.5, "inbound") == pytest.approx(17.9, abs=0.05)
    assert leads.corrected_lead_radials(10, 2.5, "outbound") == pytest.approx(12.9, abs=0.05)
    assert leads.corrected_lead_radials(5, 2.5, "inbound", "a third") == pytest.approx(40)
    assert leads.corrected_lead_radials(5, 2.5, "outbound", "a third") == pytest.approx(20)


@given(st.floats(5, 30), st.floats(0.3, 2.4), st.sampled_from(["inbound", "outbound"]))
def test_the_exact_lead_touches_the_arc_and_the_radial(
    dme: float, radius: float, direction: Direction
) -> None:
    angle = math.radians(leads.exact_lead_radials(dme, radius, direction))
    centre = dme - radius if direction == "inbound" else dme + radius
    # The radial is the y axis: the centre lies one radius beside it, and one radius inside or outside the arc.
    assert centre * math.sin(angle) == pytest.approx(radius)
    inbound = leads.exact_lead_radials(dme, radius, "inbound")
    assert (
        leads.exact_lead_radials(dme, radius, "outbound") < leads.lead_radials(dme, radius) < inbound * 1.05
    )


# CNATRA P-871 ch. 4: at 150 knots the turn onto the 10 DME arc begins at 10.8 inbound, at 9.2 outbound (0.75 NM).
def test_the_lead_onto_an_arc() -> None:
    radius = turns.radius_by_rule_nm(150)
    assert leads.arc_lead_dme(10, radius, "inbound") == pytest.approx(10.8, abs=0.051)
    assert leads.arc_lead_dme(10, radius, "outbound") == pytest.approx(9.2, abs=0.051)


@given(st.floats(6, 30), st.floats(0.3, 2.4))
def test_the_exact_lead_onto_an_arc_touches_it(arc: float, radius: float) -> None:
    outside = leads.exact_arc_lead_dme(arc, radius, "inbound")
    inside = leads.exact_arc_lead_dme(arc, radius, "outbound")
    assert math.hypot(outside, radius) - radius == pytest.approx(arc)
    assert math.hypot(inside, radius) + radius == pytest.approx(arc)


# Derived: a right angle is led by one radius.
@pytest.mark.parametrize(("turn", "lead"), [(90, 1.0), (-90, 1.0), (0, 0.0), (60, 0.57735)])
def test_the_lead_before_a_fix(turn: float, lead: float) -> None:
    assert leads.turn_lead_nm(1.0, turn) == pytest.approx(lead)


# CNATRA P-765 s.401: 10 % of the vertical speed, 2,000 feet a minute, 200 feet.
@pytest.mark.parametrize(("vertical_speed", "feet"), [(2000, 200), (-500, 50)])
def test_the_lead_of_a_level_off(vertical_speed: float, feet: float) -> None:
    assert leads.level_off_lead_feet(vertical_speed) == pytest.approx(feet)


def test_what_cannot_be_led() -> None:
    with pytest.raises(ValueError, match="above 0"):
        sixty_to_one.radials_per_nm(0)
    with pytest.raises(ValueError, match="does not fit inbound from an arc of 4 DME"):
        leads.exact_lead_radials(4, 2, "inbound")
    with pytest.raises(ValueError, match="does not fit inside an arc of 2 DME"):
        leads.arc_lead_dme(2, 2, "outbound")
    with pytest.raises(ValueError, match="less than 180"):
        leads.turn_lead_nm(1, 180)


# The flat earth of this room against the WGS84 ellipsoid (Karney's geodesics), at 45 degrees north:
# two places within 30 NM of the origin.
@given(st.floats(1, 30), st.floats(0, 360), st.floats(1, 30), st.floats(0, 360))
def test_the_flat_earth_is_good_to_four_metres(d1: float, b1: float, d2: float, b2: float) -> None:
    one, two = (
        Geodesic.WGS84.Direct(45.0, 10.0, bearing, distance * 1852.0)
        for distance, bearing in ((d1, b1), (d2, b2))
    )
    true = Geodesic.WGS84.Inverse(one["lat2"], one["lon2"], two["lat2"], two["lon2"])["s12"] / 1852.0
    east = d1 * math.sin(math.radians(b1)) - d2 * math.sin(math.radians(b2))
    north = d1 * math.cos(math.radians(b1)) - d2 * math.cos(math.radians(b2))
    assert math.hypot(east, north) == pytest.approx(true, abs=0.002)
