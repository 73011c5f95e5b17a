"""The limits of a flown procedure: its segments one after the other, and the area around it."""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.flight.aeroplane import AeroplaneState, Targets
from voice_trainer.flight.conditions import matches
from voice_trainer.flight.navaids import Navaid

BELOW_FEET = 20.0
"""A lowest altitude has no tolerance; this much is what the panel's rounding and a level-off make of it."""

TOO_FAST_KNOTS = 5.0
"""So much an airspeed may swing about a limit (common practice)."""

BACK_INSIDE_NM = 0.1


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of the procedure, from the first event that meets `begins` on; 'start' is the drill's beginning.

    Feet and knots of airspeed; None where there is no limit.
    """

    name: str
    begins: str
    lowest_altitude_feet: float | None = None
    fastest_knots: float | None = None


@dataclass(frozen=True, slots=True)
class Area:
    """Where the aeroplane has to stay, once it is there: within `limit_nm` of the navaid, over the ground."""

    navaid: Navaid
    limit_nm: float
    segments: tuple[str, ...] = ()
    """The segments in which that holds; all where none is named."""


@dataclass(frozen=True, slots=True)
class Limits:
    """The segments and the area of a flight, which segment it is in, and which limits are broken now.

    `reached` counts the segments that have begun. A limit is broken anew only when it has been kept again.
    """

    segments: tuple[Segment, ...] = ()
    area: Area | None = None
    reached: int = 0
    is_low: bool = False
    is_fast: bool = False
    is_outside: bool = False
    has_been_inside: bool = False
    climbs_to_lowest: bool = False

    @property
    def segment(self) -> Segment | None:
        """The segment that has begun last."""
        return self.segments[self.reached - 1] if self.reached else None

    @property
    def begins(self) -> frozenset[str]:
        """The events that begin a segment."""
        return frozenset(each.begins for each in self.segments if each.begins != "start")

    def observe(
        self, state: AeroplaneState, targets: Targets, event_names: tuple[str, ...]
    ) -> tuple[Limits, tuple[tuple[str, dict[str, str]], ...]]:
        """What the limits say of a state, after the events on the way to it."""
        if not self.segments and self.area is None:
            return self, ()
        reached = self._reached(event_names)
        segment = self.segments[reached - 1] if reached else None
        found: list[tuple[str, dict[str, str]]] = []
        low, fast, climbs = self.is_low, self.is_fast, self.climbs_to_lowest
        if segment is not None:
            low, climbs = self._low(state, targets, segment, reached != self.reached)
            if low and not self.is_low:
                found.append(
                    (
                        "below lowest",
                        {"segment": segment.name, "altitude": f"{segment.lowest_altitude_feet:.0f}"},
                    )
                )
            fastest = segment.fastest_knots
            over = 0.0 if self.is_fast else TOO_FAST_KNOTS
            fast = fastest is not None and state.airspeed_knots > fastest + over
            if fast and not self.is_fast:
                found.append(("too fast", {"segment": segment.name, "speed": f"{fastest:.0f}"}))
        inside_once, outside = self._outside(state, segment)
        if outside and not self.is_outside and self.area is not None:
            found.append(
                ("outside area", {"fix": self.area.navaid.ident, "distance": f"{self.area.limit_nm:g}"})
            )
        memory = (reached, low, fast, outside, inside_once, climbs)
        was = (self.reached, self.is_low, self.is_fast, self.is_outside, self.has_been_inside)
        if memory == (*was, self.climbs_to_lowest):
            return self, tuple(found)
        return Limits(self.segments, self.area, *memory), tuple(found)

    def _reached(self, event_names: tuple[str, ...]) -> int:
        reached = self.reached
        # Each event begins at most one segment: the next one waits for something after it.
        for name in ("", *event_names):
            while reached < len(self.segments) and self.segments[reached].begins == "start":
                reached += 1
            if name and reached < len(self.segments) and matches(self.segments[reached].begins, name):
                reached += 1
        return reached

    def _low(
        self, state: AeroplaneState, targets: Targets, segment: Segment, begins: bool
    ) -> tuple[bool, bool]:
        """Whether it is too low, and whether it climbs to the segment's lowest altitude for the first time."""
        lowest = segment.lowest_altitude_feet
        if lowest is None or state.altitude_feet >= lowest:
            return False, False
        if self.is_low:
            return True, False
        # A segment that begins higher up than the one before it gives the time to climb.
        climbs = targets.altitude_feet >= lowest and (begins or self.climbs_to_lowest)
        return not climbs and state.altitude_feet < lowest - BELOW_FEET, climbs

    def _outside(self, state: AeroplaneState, segment: Segment | None) -> tuple[bool, bool]:
        """Whether it has been inside the area since that holds, and whether it is outside now."""
        if self.area is None:
            return False, False
        if self.area.segments and (segment is None or segment.name not in self.area.segments):
            return False, False
        off = self.area.navaid.distance_nm(state.east_nm, state.north_nm) - self.area.limit_nm
        if off <= (-BACK_INSIDE_NM if self.is_outside else 0.0):
            return True, False
        return self.has_been_inside, self.has_been_inside
