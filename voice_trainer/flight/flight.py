"""A flight: an aeroplane, the navaids around it, and what is watched for on the way.

The caller owns the time: it says how far to fly, and flight time stands still for as long as it says nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from voice_trainer.flight import commands
from voice_trainer.flight.aeroplane import Aeroplane, AeroplaneState, Cockpit, Targets
from voice_trainer.flight.conditions import ConditionError, parse_condition
from voice_trainer.flight.courses import normalise_degrees
from voice_trainer.flight.detectors import Detectors
from voice_trainer.flight.limits import Limits
from voice_trainer.flight.navaids import Navaid
from voice_trainer.flight.panel import panel
from voice_trainer.flight.profile import Profile
from voice_trainer.flight.wind import CALM, Wind

NO_LIMITS = Limits()


@dataclass(frozen=True, slots=True)
class FlownEvent:
    """Something that happened in flight: when, by flight time, and with which values in canonical text."""

    at_seconds: float
    name: str
    values: dict[str, str]


@dataclass(frozen=True, slots=True)
class Flight:
    """One moment of a flight. Raises ConditionError when it watches for a navaid that it does not have."""

    aeroplane: Aeroplane
    detectors: Detectors
    limits: Limits = NO_LIMITS

    def __post_init__(self) -> None:
        known = [each.ident for each in self.aeroplane.navaids]
        for condition in self.detectors.watch:
            parsed = parse_condition(condition)
            if parsed.kind not in ("passage", "nearing", "abeam", "distance", "radial"):
                continue
            if (parsed.argument or "").split()[-1] not in known:
                stations = "station of this flight is" if len(known) == 1 else "stations of this flight are"
                raise ConditionError(f"'{condition}': the {stations} {', '.join(known)}")

    @classmethod
    def begun(
        cls,
        *,
        ident: str,
        navaids: tuple[Navaid, ...] = (),
        gear: str = "up",
        flaps: str = "up",
        limits: Limits = NO_LIMITS,
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
        """A flight that begins straight and level on a radial of the navaid that is tuned.

        It is the one of `navaids` with that ident; where there is none, it is a VOR at the origin. What begins a
        segment of `limits` is watched for as well.
        """
        tuned = next((each for each in navaids if each.ident == ident), None)
        if tuned is None:
            tuned = Navaid(ident)
            navaids = (tuned, *navaids)
        east, north = tuned.place(radial_degrees, distance_nm)
        state = AeroplaneState(
            east_nm=east,
            north_nm=north,
            altitude_feet=altitude_feet,
            heading_degrees=normalise_degrees(heading_degrees),
            airspeed_knots=airspeed_knots,
            course_degrees=normalise_degrees(course_degrees),
            seconds=seconds,
            cockpit=Cockpit(gear, flaps),
        )
        aeroplane = Aeroplane(state, Targets.holding(state), profile, wind, navaids, tuned)
        return cls(aeroplane, Detectors(frozenset(watch) | limits.begins), limits)

    @property
    def vor(self) -> Navaid:
        """The navaid that is tuned, or the first one while nothing is received."""
        return self.aeroplane.tuned or self.aeroplane.navaids[0]

    @property
    def state(self) -> AeroplaneState:
        """The aeroplane's state at the last step."""
        return self.aeroplane.state

    def advance(self, to_seconds: float) -> tuple[Flight, tuple[FlownEvent, ...]]:
        """The flight at the last whole step not after `to_seconds`, and what happened, in order."""
        aeroplane, samples = self.aeroplane.advance(to_seconds)
        detectors, limits, previous = self.detectors, self.limits, self.state
        targets, tuned, navaids = aeroplane.targets, aeroplane.tuned, aeroplane.navaids
        limited = bool(limits.segments) or limits.area is not None
        events: list[FlownEvent] = []
        for state in samples:
            detectors, happenings = detectors.observe(previous, state, targets, tuned, navaids)
            if limited:
                names = tuple(name for name, _ in happenings)
                limits, broken = limits.observe(state, targets, names)
                happenings += broken
            events += [FlownEvent(state.seconds, name, values) for name, values in happenings]
            previous = state
        return replace(self, aeroplane=aeroplane, detectors=detectors, limits=limits), tuple(events)

    def do(self, verb: str, slots: Mapping[str, str], at_seconds: float) -> Flight:
        """The flight with a command given (`voice_trainer.flight.commands.do`), in effect from the next step.

        Advance to the moment of the command first. Raises CommandError.
        """
        aeroplane = commands.do(self.aeroplane, verb, slots, at_seconds)
        is_retuned = aeroplane.tuned is not self.aeroplane.tuned
        return replace(
            self,
            aeroplane=aeroplane,
            detectors=self.detectors.retuned() if is_retuned else self.detectors,
        )

    def panel(self) -> dict[str, str]:
        """What the instruments show (`voice_trainer.flight.panel.panel`)."""
        return panel(self.state, self.aeroplane.tuned, self.aeroplane.wind)
