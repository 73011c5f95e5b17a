"""The aeroplane of a flown drill, as the sequencer holds it: told what to do, asked what has happened."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TypedDict

from voice_trainer.drills.model import Drill
from voice_trainer.drills.navaids import navaids_of
from voice_trainer.flight.commands import CommandError
from voice_trainer.flight.conditions import matches
from voice_trainer.flight.flight import Flight, FlownEvent
from voice_trainer.flight.limits import Area, Limits, Segment
from voice_trainer.flight.navaids import Navaid
from voice_trainer.flight.profile import profile_named
from voice_trainer.flight.wind import Wind

FARTHEST_JUMP_SECONDS = 900
"""How far ahead the next event is looked for."""

BEFORE_AN_EVENT_SECONDS = 3.0
"""A jump ends this much before the event, so that it is seen to come."""


def limits_of(drill: Drill, navaids: tuple[Navaid, ...]) -> Limits:
    """The segments and the area that a drill's flight has to keep."""
    area = drill.area
    return Limits(
        tuple(
            Segment(each.segment, each.begins, each.lowest_altitude_feet, each.fastest_knots)
            for each in drill.segments
        ),
        None
        if area is None
        else Area(next(each for each in navaids if each.ident == area.navaid), area.limit_nm, area.segments),
    )


class PositionFields(TypedDict):
    """The fields of a `Position` record, rounded to what a track needs."""

    east_nm: float
    north_nm: float
    altitude_feet: float
    heading_degrees: float
    airspeed_knots: float


@dataclass(slots=True)
class Airborne:
    """A flight that goes on. Times are running seconds: the session's, less its pauses.

    The flight's own time is that less `_ahead_seconds`: it leaps when the flight jumps ahead or goes back.
    """

    flight: Flight
    _ahead_seconds: float = 0.0

    @classmethod
    def of(cls, drill: Drill) -> Airborne | None:
        """The flight that a drill begins with, None for a drill that is not flown. Raises ValueError."""
        start = drill.aeroplane
        if start is None:
            return None
        navaids = navaids_of(drill)
        ident = start.tuned or navaids[0].ident
        flight = Flight.begun(
            ident=ident,
            navaids=navaids,
            gear=start.gear,
            flaps=start.flaps,
            limits=limits_of(drill, navaids),
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
        if start.direct_to is not None:
            flight = flight.do("direct", {"fix": start.direct_to}, 0.0)
        if start.tracked_course_degrees is not None:
            flight = flight.do("track", {"course": f"{start.tracked_course_degrees}"}, 0.0)
        return cls(flight)

    def advance(self, to_seconds: float) -> tuple[FlownEvent, ...]:
        """Fly on, and say what happened on the way."""
        self.flight, events = self.flight.advance(to_seconds - self._ahead_seconds)
        return tuple(replace(event, at_seconds=event.at_seconds + self._ahead_seconds) for event in events)

    def return_to(self, flight: Flight, running_seconds: float) -> None:
        """Go on from an earlier moment, as if it were now; the panel's clock reads what it read then."""
        self.flight = flight
        self._ahead_seconds = running_seconds - flight.state.seconds

    def jump(
        self, until: frozenset[str], running_seconds: float
    ) -> tuple[float, tuple[FlownEvent, ...]] | None:
        """Leave out what lies before the next event that one of the conditions `until` waits for.

        Returns the seconds left out and what happened in them; None where no such event comes soon, or it is
        about to come anyway. The panel's clock goes on meanwhile.
        """
        began = self.flight.state.seconds
        target = self._time_of_next(until)
        if target is None or target - BEFORE_AN_EVENT_SECONDS <= began:
            return None
        flight, events = self.flight.advance(target - BEFORE_AN_EVENT_SECONDS)
        self.return_to(flight, running_seconds)
        return flight.state.seconds - began, events

    def _time_of_next(self, until: frozenset[str]) -> float | None:
        flight = self.flight
        began = flight.state.seconds
        for seconds in range(1, FARTHEST_JUMP_SECONDS + 1):
            flight, events = flight.advance(began + seconds)
            for event in events:
                if any(matches(condition, event.name) for condition in until):
                    return event.at_seconds
        return None

    def panel(self) -> dict[str, str]:
        """What the instruments show."""
        return self.flight.panel()

    def do(self, verb: str, slots: Mapping[str, str], at_seconds: float) -> bool:
        """Do what was said. False where it was said without the value that it needs: nothing is done then."""
        try:
            self.flight = self.flight.do(verb, slots, at_seconds - self._ahead_seconds)
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
