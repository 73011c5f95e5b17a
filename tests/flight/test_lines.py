"""Courses, arcs, fixes and glidepaths: flown from anywhere, in wind, and the same way every time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import pytest
from flying import Command, flown, inbound, names
from hypothesis import given, settings
from hypothesis import strategies as st

from voice_trainer.flight.aeroplane import AeroplaneState
from voice_trainer.flight.commands import CommandError
from voice_trainer.flight.courses import signed_difference, text
from voice_trainer.flight.flight import Flight
from voice_trainer.flight.navaids import Navaid
from voice_trainer.flight.profile import PROFILES
from voice_trainer.flight.wind import Wind

SOME = settings(max_examples=10, deadline=None)
bearings = st.floats(1, 360)
courses = st.integers(1, 360)
profiles = st.sampled_from(sorted(PROFILES))
winds = st.builds(Wind, bearings, st.floats(0, 30))

KLD = Navaid("KLD", kind="vor/dme", name="Kelda", frequency="113.4")
TARNE = Navaid("TARNE", 4.0, 3.0, kind="waypoint", name="Tarne")
ILS = Navaid(
    "IKD",
    2.0,
    -1.0,
    kind="ils",
    frequency="109.9",
    front_course_degrees=153.0,
    threshold_distance_nm=1.3,
    glidepath_degrees=3.0,
    threshold_elevation_feet=200.0,
)
AROUND = (KLD, TARNE, ILS)


@dataclass(frozen=True)
class Flown:
    flight: Flight
    samples: list[AeroplaneState]

    @property
    def last(self) -> AeroplaneState:
        return self.samples[-1]

    @property
    def track_degrees(self) -> float:
        was = self.samples[-50]
        return math.degrees(math.atan2(self.last.east_nm - was.east_nm, self.last.north_nm - was.north_nm))

    @property
    def most_turned(self) -> float:
        """The farthest it turned from where it began, on either side."""
        turned, most = 0.0, 0.0
        for before, after in pairwise(self.samples):
            turned += signed_difference(before.heading_degrees, after.heading_degrees)
            most = max(most, abs(turned))
        return most


def fly(flight: Flight, seconds: float) -> Flown:
    after, _ = flight.advance(seconds)
    return Flown(after, flight.aeroplane.advance(seconds)[1])


def off_nm(navaid: Navaid, state: AeroplaneState, course: float) -> float:
    return navaid.right_of_course_nm(state.east_nm, state.north_nm, course)


@SOME
@given(bearings, st.floats(0.5, 6), bearings, courses, winds, profiles)
def test_a_course_is_joined_from_anywhere_and_kept(
    radial: float, distance: float, heading: float, course: int, wind: Wind, profile: str
) -> None:
    kind = PROFILES[profile]
    flight = inbound(
        radial_degrees=radial,
        distance_nm=distance,
        heading_degrees=heading,
        airspeed_knots=kind.manoeuvring_knots,
        profile=kind,
        wind=wind,
    )
    done = fly(flight.do("track", {"course": text(course)}, 0.0), 900.0)
    assert abs(off_nm(flight.vor, done.last, course)) < 0.3
    assert abs(signed_difference(course, done.track_degrees)) < 2.0
    # Half a circle, the cut beyond it, and the wind: never the rest of the circle.
    assert done.most_turned < 270.0


@pytest.mark.parametrize("heading", ["108", "123", "198"])
def test_it_holds_its_heading_until_the_lead_point_and_does_not_overshoot(heading: str) -> None:
    degrees = float(heading)
    side = 310.0 if degrees < 153.0 else 356.0
    flight = inbound(
        radial_degrees=side,
        distance_nm=8.0,
        heading_degrees=degrees,
        course_degrees=153.0,
        wind=Wind(240.0, 15.0),
    )
    done = fly(flight.do("track", {"course": "153"}, 0.0), 400.0)
    first = next(s for s in done.samples if s.heading_degrees != degrees)
    lead = abs(off_nm(KLD, first, 153.0))
    assert 0.02 < lead < 0.8
    start = off_nm(KLD, done.samples[0], 153.0)
    beyond = max(-math.copysign(1.0, start) * off_nm(KLD, s, 153.0) for s in done.samples)
    assert beyond < 0.1
    assert abs(off_nm(KLD, done.last, 153.0)) < 0.05


def test_the_turn_onto_the_course_ends_with_its_wings_level_once() -> None:
    flight = inbound(radial_degrees=310.0, distance_nm=8.0, heading_degrees=108.0, wind=Wind(243.0, 20.0))
    _, events = flown(flight, [Command(0.0, "track", {"course": "153"})], 230.0)
    level = [name for name in names(events) if name.startswith("wings level")]
    # 20 knots from the right of 120: ten degrees of correction.
    assert level == ["wings level 163"]


def test_a_turn_that_was_told_is_finished_on_its_side_first() -> None:
    flight = inbound(radial_degrees=315.0, distance_nm=8.0, heading_degrees=288.0, course_degrees=153.0)
    commands = [
        Command(0.0, "turn", {"heading": "130", "left/right": "right"}),
        Command(10.0, "track", {"course": "153"}),
    ]
    flight, events = flown(flight, commands, 55.0)
    assert flight.state.bank_degrees > 10.0
    flight, more = flight.advance(400.0)
    assert [name for name in names([*events, *more]) if name.startswith("wings level")] == [
        "wings level 130",
        "wings level 153",
    ]


def test_over_the_station_it_chases_no_needle() -> None:
    flight = inbound(radial_degrees=150.0, distance_nm=5.0, wind=Wind(60.0, 25.0))
    done = fly(flight.do("track", {"course": "333"}, 0.0), 300.0)
    near = [s for s in done.samples if KLD.distance_nm(s.east_nm, s.north_nm) < 1.0]
    assert len({round(s.heading_degrees) for s in near}) <= 2
    assert max(abs(s.bank_degrees) for s in near) < 2.0


def test_turn_and_missed_end_what_is_flown() -> None:
    tracking = inbound().do("track", {"course": "100"}, 0.0).advance(30.0)[0]
    turned, _ = tracking.do("turn", {"heading": "200"}, 30.0).advance(200.0)
    assert turned.state.heading_degrees == 200.0
    missed, _ = tracking.do("missed", {"altitude": "4000"}, 30.0).advance(200.0)
    assert missed.state.altitude_feet == 4000.0
    assert missed.state.bank_degrees == 0.0


@SOME
@given(
    bearings,
    st.sampled_from(["left", "right"]),
    st.booleans(),
    st.floats(-20, 20),
    bearings,
    st.sampled_from([7, 10, 12]),
)
def test_an_arc_is_kept_in_thirty_knots_of_wind(
    radial: float, side: str, is_inbound: bool, aside: float, wind: float, miles: int
) -> None:
    heading = radial + aside + (180.0 if is_inbound else 0.0)
    flight = inbound(
        navaids=AROUND,
        radial_degrees=radial,
        distance_nm=miles + (3.0 if is_inbound else -3.0),
        heading_degrees=heading,
        wind=Wind(wind, 30.0),
    ).do("arc", {"distance": str(miles), "left/right": side}, 0.0)
    done = fly(flight, 800.0)
    off = [KLD.shown_distance_nm(s.east_nm, s.north_nm, s.altitude_feet) - miles for s in done.samples]
    joined = next(i for i, each in enumerate(off) if abs(each) < 0.2)
    assert max(abs(each) for each in off[joined:]) < 0.5
    began, ended = (
        KLD.radial_degrees(s.east_nm, s.north_nm) for s in (done.samples[joined], done.samples[joined + 1000])
    )
    clockwise = (side == "left") == is_inbound
    assert (signed_difference(began, ended) > 0.0) == clockwise


@SOME
@given(bearings, st.floats(0.3, 6), bearings, st.builds(Wind, bearings, st.floats(0, 40)))
def test_the_way_straight_to_a_waypoint_leads_over_it_once(
    radial: float, distance: float, heading: float, wind: Wind
) -> None:
    flight = inbound(
        navaids=AROUND,
        radial_degrees=radial,
        distance_nm=distance,
        heading_degrees=heading,
        wind=wind,
        watch=["passage TARNE"],
    ).do("direct", {"fix": "TARNE"}, 0.0)
    done = fly(flight, 900.0)
    assert min(TARNE.distance_nm(s.east_nm, s.north_nm) for s in done.samples) < 0.1
    assert names(list(flight.advance(900.0)[1])).count("passage TARNE") == 1


def test_direct_tunes_and_an_unknown_frequency_gives_no_signal() -> None:
    flight = inbound(navaids=AROUND)
    direct = flight.do("direct", {"fix": "Tarne"}, 0.0)
    assert direct.panel()["tuned"] == "TARNE"
    assert direct.panel()["needle"] == "centred"
    silent = flight.do("tune", {"frequency": "117.0"}, 0.0)
    shown = silent.panel()
    assert (shown["flag"], shown["needle"], shown["distance"]) == ("OFF", "none", "none")
    with pytest.raises(CommandError, match="nothing is received"):
        silent.do("track", {"course": "153"}, 0.0)
    assert silent.do("tune", {"frequency": "109.90"}, 0.0).panel()["tuned"] == "IKD"
    with pytest.raises(CommandError, match="there is no 'BRK'; known: KLD, TARNE, IKD"):
        flight.do("direct", {"fix": "BRK"}, 0.0)


@SOME
@given(bearings.map(lambda each: Wind(each, 25.0)), st.floats(-3, 3), profiles)
def test_localizer_and_glidepath_are_kept(wind: Wind, aside: float, profile: str) -> None:
    kind = PROFILES[profile]
    flight = inbound(
        ident="IKD",
        navaids=AROUND,
        radial_degrees=333.0 + aside,
        distance_nm=12.0,
        heading_degrees=153.0,
        course_degrees=153.0,
        altitude_feet=1800.0,
        airspeed_knots=kind.final_knots,
        profile=kind,
        wind=wind,
    )
    flight = flight.do("track", {"course": "153"}, 0.0).do("glidepath", {}, 0.0)
    below = [s for s in fly(flight, 900.0).samples if 400.0 < s.altitude_feet < 1700.0]
    assert below
    for state in below:
        up = ILS.glidepath_deflection(state.east_nm, state.north_nm, state.altitude_feet)
        across = ILS.deflection(state.east_nm, state.north_nm, 153.0)
        assert up is not None
        assert across is not None
        # Half a dot of two; half of full scale.
        assert abs(up) < 0.25
        assert abs(across) < 0.5


def test_a_glidepath_is_met_from_below_only() -> None:
    flight = inbound(
        ident="IKD", navaids=AROUND, radial_degrees=333.0, distance_nm=6.0, heading_degrees=153.0
    )
    flight = flight.do("glidepath", {}, 0.0)
    assert flight.panel()["glidepath"] == "full above"
    assert flight.advance(60.0)[0].state.altitude_feet == 3000.0
    with pytest.raises(CommandError, match="'glidepath': KLD has none"):
        inbound(navaids=AROUND).do("glidepath", {}, 0.0)


def test_the_panel_of_a_localizer_and_of_a_waypoint() -> None:
    on = inbound(
        ident="IKD", navaids=AROUND, radial_degrees=332.0, distance_nm=8.0, heading_degrees=153.0
    ).panel()
    # 350 feet at 1.3 miles are 2.5 degrees: one of them is 0.8 dots of two.
    assert (on["needle"], on["flag"]) == ("0.8 dots left", "TO")
    beside = inbound(
        ident="TARNE", navaids=AROUND, radial_degrees=90.0, distance_nm=0.4, course_degrees=360.0
    ).panel()
    assert (beside["needle"], beside["distance"]) == ("0.4 miles left", "0.4")


def test_gear_flaps_bug_and_alert_are_shown() -> None:
    flight = inbound(gear="up", flaps="up")
    for verb, slots in (
        ("gear", {"gear": "down"}),
        ("flaps", {"flap": "approach"}),
        ("bug", {"heading": "288"}),
        ("minimums alert", {"minimums": "640"}),
    ):
        flight = flight.do(verb, slots, 0.0)
    shown = flight.advance(5.0)[0].panel()
    keys = ("gear", "flaps", "bug", "minimums alert")
    assert [shown[key] for key in keys] == ["down", "approach", "288", "640"]


def test_a_rate_is_heeded() -> None:
    slow = inbound().do("rate", {"rate": "500"}, 0.0).do("altitude", {"altitude": "2000"}, 0.0)
    assert slow.advance(30.0)[0].state.vertical_speed_feet_per_minute == -500.0


@SOME
@given(
    st.sampled_from(
        [
            ("track", {"course": "100"}),
            ("arc", {"distance": "5", "left/right": "left"}),
            ("direct", {"fix": "TARNE"}),
        ]
    ),
    winds,
    bearings,
    st.lists(st.floats(0, 200), max_size=8),
)
def test_in_other_portions_it_is_the_same_flight(
    order: tuple[str, dict[str, str]], wind: Wind, heading: float, looks: list[float]
) -> None:
    watch = ["established 100", "radial 080 KLD", "distance 4 KLD", "abeam TARNE", "passage TARNE"]
    start = inbound(navaids=AROUND, heading_degrees=heading, wind=wind, watch=watch).do(*order, 0.0)
    whole, events = start.advance(200.0)
    assert start.advance(200.0) == (whole, events)
    pieces = []
    flight = start
    for look in [*sorted(looks), 200.0]:
        flight, more = flight.advance(look)
        pieces += more
    assert (flight, tuple(pieces)) == (whole, events)
