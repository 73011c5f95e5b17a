"""Ready aeroplanes and flights, and short ways to say what they do, for the tests of this folder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from hypothesis import strategies as st

from voice_trainer.flight.aeroplane import Aeroplane, AeroplaneState, Targets
from voice_trainer.flight.flight import Flight, FlownEvent
from voice_trainer.flight.profile import PROFILES, Profile
from voice_trainer.flight.wind import CALM, Wind

TURBOPROP = PROFILES["turboprop"]


def aeroplane(profile: Profile = TURBOPROP, wind: Wind = CALM, **changes: Any) -> Aeroplane:
    state = AeroplaneState(
        east_nm=0.0, north_nm=0.0, altitude_feet=3000.0, heading_degrees=333.0, airspeed_knots=120.0
    )
    state = replace(state, **changes)
    return Aeroplane(state, Targets.holding(state), profile, wind)


def told(plane: Aeroplane, **targets: Any) -> Aeroplane:
    return replace(plane, targets=replace(plane.targets, **targets))


def inbound(**changes: Any) -> Flight:
    """Two miles from Kelda on heading 333, calm, at 3,000 feet and 120 knots."""
    start: dict[str, Any] = {
        "ident": "KLD",
        "radial_degrees": 153.0,
        "distance_nm": 2.0,
        "heading_degrees": 333.0,
        "course_degrees": 333.0,
        "altitude_feet": 3000.0,
        "airspeed_knots": 120.0,
        "profile": TURBOPROP,
    }
    return Flight.begun(**(start | changes))


@dataclass(frozen=True)
class Command:
    at_seconds: float
    verb: str
    slots: Mapping[str, str]


def flown(flight: Flight, commands: list[Command], until: float) -> tuple[Flight, list[FlownEvent]]:
    """The flight with each command given at its time, and everything that happened."""
    events: list[FlownEvent] = []
    for command in sorted(commands, key=lambda command: command.at_seconds):
        flight, more = flight.advance(command.at_seconds)
        events += more
        flight = flight.do(command.verb, command.slots, command.at_seconds)
    flight, more = flight.advance(until)
    return flight, events + list(more)


def names(events: list[FlownEvent]) -> list[str]:
    return [event.name for event in events]


headings = st.integers(1, 360).map(lambda degrees: f"{degrees:03d}")
orders = st.one_of(
    st.tuples(
        st.just("turn"),
        st.fixed_dictionaries(
            {"heading": headings}, optional={"left/right": st.sampled_from(["left", "right"])}
        ),
    ),
    st.tuples(st.just("altitude"), st.fixed_dictionaries({"altitude": st.integers(500, 9000).map(str)})),
    st.tuples(st.just("speed"), st.fixed_dictionaries({"speed": st.integers(60, 250).map(str)})),
    st.tuples(st.just("course"), st.fixed_dictionaries({"course": headings})),
    st.tuples(st.just("clock"), st.just({})),
)
times = st.floats(0, 60)
plans = st.lists(st.builds(lambda at, order: Command(at, order[0], order[1]), times, orders), max_size=6)
winds = st.builds(Wind, st.floats(0, 360), st.floats(0, 60))
