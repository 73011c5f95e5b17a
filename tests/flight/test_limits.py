"""The events of a flown procedure: places, needles, altitudes, segments and the area, each once."""

from __future__ import annotations

import pytest
from flying import Command, flown, inbound, names

from voice_trainer.flight.limits import Area, Limits, Segment
from voice_trainer.flight.navaids import Navaid

KLD = Navaid("KLD", kind="vor/dme", frequency="113.4")
BRK = Navaid("BRK", 2.0, 4.0, frequency="114.2")


def descent(*altitudes: str, every: float = 60.0) -> list[Command]:
    return [Command(index * every, "altitude", {"altitude": feet}) for index, feet in enumerate(altitudes)]


def test_a_navaid_to_the_side_is_abeam_once_and_not_passed() -> None:
    flight = inbound(
        navaids=(KLD, BRK),
        radial_degrees=180.0,
        heading_degrees=360.0,
        distance_nm=2.0,
        watch=["abeam BRK"],
    )
    _, events = flown(flight, [], 400.0)
    assert [name for name in names(events) if "BRK" in name][-1] == "abeam BRK"
    assert names(events).count("abeam BRK") == 1
    at = next(event.at_seconds for event in events if event.name == "abeam BRK")
    assert at == pytest.approx(180.0, abs=0.2)


def test_outbound_in_a_hold_the_fix_is_abeam() -> None:
    flight = inbound(watch=["abeam KLD"])
    commands = [Command(70.0, "turn", {"heading": "153", "left/right": "right"})]
    _, events = flown(flight, commands, 200.0)
    assert names(events).count("abeam KLD") == 1
    assert names(events).count("passage KLD") == 1


def test_a_distance_is_the_slant_one_of_a_dme_and_comes_once_along_the_arc() -> None:
    flight = inbound(navaids=(KLD,), distance_nm=8.0, watch=["distance 5.0 KLD"], altitude_feet=6000.0)
    _, events = flown(flight, [Command(0.0, "arc", {"distance": "5", "left/right": "left"})], 900.0)
    found = [event for event in events if event.name == "distance 5.0 KLD"]
    assert len(found) == 1
    assert found[0].values == {"distance": "5", "fix": "KLD"}


def test_a_radial_is_crossed_once_each_way() -> None:
    flight = inbound(
        radial_degrees=100.0,
        distance_nm=5.0,
        heading_degrees=10.0,
        watch=["radial 090 KLD", "radial 270 KLD"],
    )
    commands = [Command(90.0, "turn", {"heading": "190"})]
    _, events = flown(flight, commands, 300.0)
    assert [name for name in names(events) if name.startswith("radial")] == ["radial 090 KLD"] * 2


def test_a_needle_comes_alive_and_then_in() -> None:
    flight = inbound(
        radial_degrees=310.0,
        distance_nm=6.0,
        heading_degrees=108.0,
        watch=["established 153", "needle alive 153"],
    )
    _, events = flown(flight, [Command(0.0, "track", {"course": "153"})], 170.0)
    assert [name for name in names(events) if "153" in name and "wings" not in name] == [
        "needle alive 153",
        "established 153",
    ]


def test_what_is_tuned_decides_which_course_is_established() -> None:
    flight = inbound(navaids=(KLD, BRK), watch=["established 333"])
    assert names(list(flight.advance(10.0)[1])) == ["established 333"]
    silent = flight.do("tune", {"frequency": "119.0"}, 0.0)
    assert silent.advance(10.0)[1] == ()
    back = silent.advance(10.0)[0].do("tune", {"frequency": "113.4"}, 10.0)
    assert names(list(back.advance(20.0)[1])) == ["established 333"]


def test_feet_short_of_a_told_altitude() -> None:
    flight = inbound(distance_nm=30.0, watch=["within 1000 of 1500", "within 1000 of 1400"])
    _, events = flown(flight, descent("1500"), 200.0)
    assert [name for name in names(events) if name.startswith("within")] == ["within 1000 of 1500"]
    assert next(e for e in events if e.name.startswith("within")).at_seconds == pytest.approx(32.0, abs=3.0)


def test_the_minimums_alert_comes_on_the_way_down_only() -> None:
    flight = inbound(distance_nm=30.0).do("minimums alert", {"minimums": "2600"}, 0.0)
    _, events = flown(flight, descent("2500", "3000"), 150.0)
    assert names(events).count("minimums alert") == 1


def limited(**changes: object) -> Limits:
    return Limits(
        (
            Segment("outbound", "start", 2400.0, 130.0),
            Segment("inbound", "passage KLD", 1800.0, 110.0),
        ),
        Area(KLD, 3.0),
    )


def test_a_level_off_at_the_lowest_altitude_breaks_nothing() -> None:
    _, events = flown(inbound(distance_nm=2.5, limits=limited()), descent("2400"), 60.0)
    assert not {"below lowest", "too fast", "outside area"} & set(names(events))


def test_below_the_lowest_altitude_once_each_time() -> None:
    flight = inbound(distance_nm=2.9, airspeed_knots=60.0, limits=limited())
    _, events = flown(flight, descent("2300", "2500", "2300", every=50.0), 150.0)
    low = [event for event in events if event.name == "below lowest"]
    assert len(low) == 2
    assert low[0].values == {"segment": "outbound", "altitude": "2400"}


def test_the_next_segment_has_its_own_limits() -> None:
    flight = inbound(distance_nm=2.0, limits=limited())
    flight, events = flown(flight, [], 100.0)
    # 120 knots: allowed outbound, too fast inbound, from the moment of the passage.
    fast = [event for event in events if event.name == "too fast"]
    assert [event.values["segment"] for event in fast] == ["inbound"]
    assert fast[0].at_seconds == next(e.at_seconds for e in events if e.name == "passage KLD")
    assert flight.limits.segment is not None
    assert flight.limits.segment.name == "inbound"
    _, more = flown(flight, [Command(100.0, "altitude", {"altitude": "2000"})], 170.0)
    assert "below lowest" not in names(more)


def test_five_knots_over_a_limit_are_no_fault() -> None:
    flight = inbound(airspeed_knots=134.0, limits=limited())
    assert names(list(flight.advance(20.0)[1])) == []


def test_outside_the_area_once_and_only_after_it_was_inside() -> None:
    flight = inbound(distance_nm=4.0, limits=limited())
    _, events = flown(flight, [], 300.0)
    assert names(events).count("outside area") == 1
    assert next(e for e in events if e.name == "outside area").at_seconds == pytest.approx(210.0, abs=0.2)


def test_going_back_brings_the_limits_back() -> None:
    flight = inbound(distance_nm=4.0, limits=limited())
    before, _ = flight.advance(200.0)
    once = before.advance(300.0)
    assert before.advance(300.0) == once
    assert names(list(once[1])).count("outside area") == 1
