"""The aeroplane of a flown drill, as the sequencer holds it: told what to do, asked what has happened."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypedDict

from voice_trainer.drills.model import Drill
from voice_trainer.flight.commands import CommandError
from voice_trainer.flight.flight import Flight, FlownEvent
from voice_trainer.flight.profile import profile_named
from voice_trainer.flight.wind import Wind


class PositionFields(TypedDict):
    """The fields of a `Position` record, rounded to what a track needs."""

    east_nm: float
    north_nm: float
    altitude_feet: float
    heading_degrees: float
    airspeed_knots: float


@dataclass(slots=True)
class Airborne:
    """A flight that goes on. Times are running seconds: the session's, less its pauses."""

    flight: Flight

    @classmethod
    def of(cls, drill: Drill) -> Airborne | None:
        """The flight that a drill begins with, None for a drill that is not flown. Raises ValueError."""
        start, station = drill.aeroplane, drill.station
        if start is None or station is None:
            return None
        flight = Flight.begun(
            ident=station.ident,
            radial_degrees=start.radial_degrees,
            distance_nm=start.distance_nm,
            heading_degrees=start.heading_degrees,
            course_degrees=start.course_degrees,
            altitude_feet=start.altitude_feet,
            airspeed_knots=start.airspeed_knots,
            profile=profile_named(start.profile),
            wind=Wind(start.wind_from_degrees, start.wind_knots),
            watch=drill.conditions - {"start", "settled"},
        )
        return cls(flight)

    def advance(self, to_seconds: float) -> tuple[FlownEvent, ...]:
        """Fly on, and say what happened on the way."""
        self.flight, events = self.flight.advance(to_seconds)
        return events

    def do(self, verb: str, slots: Mapping[str, str], at_seconds: float) -> bool:
        """Do what was said. False where it was said without the value that it needs: nothing is done then."""
        try:
            self.flight = self.flight.do(verb, slots, at_seconds)
        except CommandError:
            return False
        return True

    def position(self) -> PositionFields:
        """Where the aeroplane is now."""
        state = self.flight.state
        return {
            "east_nm": round(state.east_nm, 4),
            "north_nm": round(state.north_nm, 4),
            "altitude_feet": round(state.altitude_feet, 1),
            "heading_degrees": round(state.heading_degrees, 2),
            "airspeed_knots": round(state.airspeed_knots, 1),
        }
