"""What is reported unasked, in which order, and what is read back: against the publications."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.reports import (
    CLEARANCE_LIMIT_REPORT,
    CORRECTED_ESTIMATE_MINUTES,
    FINAL_APPROACH_FIX_REPORT,
    HOLDING_CLEARANCE,
    NEVER_OMITTED,
    PROCEDURE_TURN_INBOUND_REPORT,
    READBACK_ADVICE,
    READBACK_ITEMS,
    airspeed_change_knots,
    is_airspeed_report_due,
    is_corrected_estimate_due,
    missed_approach_report,
    position_report,
    reports_due,
)


# AIM 5-3-3a, a recent copy: nine at all times, in this order; two more when not in radar contact.
def test_without_request() -> None:
    always = [
        "leaving altitude",
        "altitude change on top",
        "slow climb or descent",
        "missed approach",
        "airspeed change",
        "reaching holding fix",
        "leaving holding fix",
        "lost equipment",
        "safety",
    ]
    assert [report.name for report in reports_due("in radar contact")] == always
    without = [report.name for report in reports_due("not in radar contact")]
    assert without == [*always, "final approach fix", "corrected estimate"]
    assert all(report.source.startswith("AIM 5-3-3a") for report in reports_due("not in radar contact"))


# AIM 5-3-3a1(e): 5 per cent or 10 knots, whichever is greater. Computed: 120 knots gives 10, 250 gives 12.5.
@pytest.mark.parametrize(("filed", "change"), [(120, 10), (200, 10), (250, 12.5)])
def test_a_change_of_airspeed(filed: float, change: float) -> None:
    assert airspeed_change_knots(filed) == change
    for sign in (-1, 1):
        assert is_airspeed_report_due(filed, filed + sign * change)
        assert not is_airspeed_report_due(filed, filed + sign * (change - 0.1))


@given(st.floats(1, 600))
def test_never_less_than_ten_knots(filed: float) -> None:
    assert airspeed_change_knots(filed) >= 10
    assert airspeed_change_knots(filed) >= filed * 0.05


def test_no_airspeed_is_filed() -> None:
    with pytest.raises(ValueError, match="more than 0 knots"):
        airspeed_change_knots(0)


# AIM 5-3-3a2(b): more than 2 minutes, the North Atlantic 3 or more; CNATRA P-1204, after older editions: 3.
def test_a_corrected_estimate() -> None:
    assert CORRECTED_ESTIMATE_MINUTES == {"AIM": 2, "AIM, older editions": 3, "North Atlantic": 3}
    assert not is_corrected_estimate_due(2)
    assert is_corrected_estimate_due(2.5)
    assert is_corrected_estimate_due(-2.5)
    assert not is_corrected_estimate_due(3, "AIM, older editions")
    assert is_corrected_estimate_due(3.5, "AIM, older editions")
    assert is_corrected_estimate_due(3, "North Atlantic")
    assert not is_corrected_estimate_due(2.5, "North Atlantic")


# AIM 5-3-2d.
def test_a_position_report() -> None:
    assert position_report("AIM") == (
        "identification",
        "position",
        "time",
        "altitude",
        "type of flight plan",
        "next position and estimate",
        "ensuing position",
        "remarks",
    )
    to_center = position_report("AIM", to_center_or_approach=True)
    assert "type of flight plan" not in to_center
    assert len(to_center) == 7


# CNATRA P-1204: position, time, altitude, position, time, position.
def test_the_navys_mnemonic() -> None:
    initials = [("t" if item.startswith("time") else item.split()[-1][0]) for item in position_report("Navy")]
    assert "".join(initials).upper() == "PTAPTP"


# Doc 4444 through a training text: the first three are never left out.
def test_the_icao_order() -> None:
    order = position_report("ICAO")
    assert order == (
        "identification",
        "position",
        "time",
        "altitude",
        "next position and estimate",
        "ensuing position",
    )
    assert set(order[:3]) == NEVER_OMITTED


# AIM 4-4-7b; Doc 4444 4.5.7.5.1 as reprinted.
def test_what_is_read_back() -> None:
    assert READBACK_ITEMS["AIM"] == ("altitude", "vector", "runway assignment")
    assert len(READBACK_ADVICE) == 4
    icao = READBACK_ITEMS["ICAO"]
    assert icao[0] == "route clearance"
    on_a_runway = [
        "enter runway",
        "land",
        "take off",
        "hold short",
        "cross runway",
        "taxi on runway",
        "backtrack",
    ]
    assert list(icao[1:8]) == on_a_runway
    assert set(icao[8:]) == {
        "runway in use",
        "altimeter setting",
        "transponder code",
        "level",
        "heading",
        "speed",
        "transition level",
    }


# AIM 5-3-8i: direction, fix, radial, leg length, left turns, expect further clearance.
def test_a_holding_clearance() -> None:
    assert HOLDING_CLEARANCE == (
        "direction of holding",
        "fix",
        "radial, course or airway",
        "leg length",
        "left turns",
        "expect further clearance time",
    )


# CNATRA P-801 ch. 7: "Tower, Navy Turbo 11, Final Approach Fix, gear down, full (stop)" and "Approach, Turbo 11,
# procedure turn inbound".
def test_reports_on_an_approach() -> None:
    assert FINAL_APPROACH_FIX_REPORT == (
        "facility",
        "identification",
        "final approach fix",
        "gear down",
        "kind of landing",
    )
    assert PROCEDURE_TURN_INBOUND_REPORT == ("facility", "identification", "procedure turn inbound")


# AIM 5-5-5a2: advise, with the reason unless control initiated it, then request what is to follow.
def test_a_missed_approach() -> None:
    assert missed_approach_report() == ("missed approach", "reason", "request")
    assert missed_approach_report(told_by_control=True) == ("missed approach", "request")


# AIM 5-3-8f: time and altitude on reaching the clearance limit.
def test_at_the_clearance_limit() -> None:
    assert CLEARANCE_LIMIT_REPORT == ("time", "altitude")
