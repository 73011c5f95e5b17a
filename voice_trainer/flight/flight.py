"""A flight: an aeroplane, a station, and what is watched for on the way.

The caller owns the time: it says how far to fly, and flight time stands still for as long as it says nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from voice_trainer.flight import commands
from voice_trainer.flight.aeroplane import Aeroplane, AeroplaneState, Targets
from voice_trainer.flight.conditions import ConditionError, parse_condition
from voice_trainer.flight.courses import normalise_degrees
from voice_trainer.flight.detectors import Detectors
from voice_trainer.flight.panel import panel
from voice_trainer.flight.profile import Profile
from voice_trainer.flight.vor import Vor
from voice_trainer.flight.wind import CALM, Wind


@dataclass(frozen=True, slots=True)
class FlownEvent:
    """Something that happened in flight: when, by flight time, and with which values in canonical text."""

    at_seconds: float
    name: str
    values: dict[str, str]


@dataclass(frozen=True, slots=True)
class Flight:
    """One moment of a flight. Raises ConditionError when it watches for another station than its own."""

    aeroplane: Aeroplane
    vor: Vor
    detectors: Detectors

    def __post_init__(self) -> None:
        for condition in self.detectors.watch:
            parsed = parse_condition(condition)
            if parsed.kind in ("passage", "nearing") and parsed.argument != self.vor.ident:
                raise ConditionError(f"'{condition}': the station of this flight is {self.vor.ident}")

    @classmethod
    def begun(
        cls,
        *,
        ident: str,
        radial_degrees: float,
        distance_nm: float,
        heading_degrees: float,
        course_degrees: float,
        altitude_feet: float,
        airspeed_knots: float,
        profile: Profile,
        wind: Wind = CALM,
        watch: Iterable[str] = (),
        seconds: float = 0.0,
    ) -> Flight:
        """A flight that begins straight and level on a radial of the station, which is the origin."""
        vor = Vor(ident)
        east, north = vor.place(radial_degrees, distance_nm)
        state = AeroplaneState(
            east_nm=east,
            north_nm=north,
            altitude_feet=altitude_feet,
            heading_degrees=normalise_degrees(heading_degrees),
            airspeed_knots=airspeed_knots,
            course_degrees=normalise_degrees(course_degrees),
            seconds=seconds,
        )
        return cls(Aeroplane(state, Targets.holding(state), profile, wind), vor, Detectors(frozenset(watch)))

    @property
    def state(self) -> AeroplaneState:
        """The aeroplane's state at the last step."""
        return self.aeroplane.state

    def advance(self, to_seconds: float) -> tuple[Flight, tuple[FlownEvent, ...]]:
        """The flight at the last whole step not after `to_seconds`, and what happened, in order."""
        aeroplane, samples = self.aeroplane.advance(to_seconds)
        detectors, previous = self.detectors, self.state
        events: list[FlownEvent] = []
        for state in samples:
            detectors, happenings = detectors.observe(previous, state, aeroplane.targets, self.vor)
            events += [FlownEvent(state.seconds, name, values) for name, values in happenings]
            previous = state
        return replace(self, aeroplane=aeroplane, detectors=detectors), tuple(events)

    def do(self, verb: str, slots: Mapping[str, str], at_seconds: float) -> Flight:
        """The flight with a command given (`voice_trainer.flight.commands.do`), in effect from the next step.

        Advance to the moment of the command first. Raises CommandError.
        """
        return replace(self, aeroplane=commands.do(self.aeroplane, verb, slots, at_seconds))

    def panel(self) -> dict[str, str]:
        """What the instruments show (`voice_trainer.flight.panel.panel`)."""
        return panel(self.state, self.vor)
