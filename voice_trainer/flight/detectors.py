"""From movement to events: what a drill's steps and windows wait for.

`Detectors` looks at two states of the aeroplane, a step apart, and says what happened between them, each
occurrence exactly once. Its memory is small: the turn in progress, whether an altitude is still to be
reached, when the station was last passed, and the courses on which the aeroplane is established already.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from voice_trainer.flight.aeroplane import AeroplaneState, Targets
from voice_trainer.flight.conditions import Condition, ConditionError, matches, parse_condition
from voice_trainer.flight.courses import signed_difference, text
from voice_trainer.flight.timing import duration_seconds
from voice_trainer.flight.vor import Vor

__all__ = ["Condition", "ConditionError", "Detectors", "Happening", "matches", "parse_condition"]

Happening = tuple[str, dict[str, str]]
"""The name of an event, and its values in canonical text."""

SMALLEST_TURN_DEGREES = 10.0
LEVEL_BANK_DEGREES = 2.0
ON_HEADING_DEGREES = 2.0
ON_ALTITUDE_FEET = 20.0
ON_ALTITUDE_FEET_PER_MINUTE = 300.0
ESTABLISHED_DEGREES = 5.0
LOST_DEGREES = 10.0
"""Full deflection: beyond it a course has to be intercepted anew."""
SAME_PASSAGE_SECONDS = 60.0
"""A selector twisted just after the station may make the indicator reverse again: no second passage."""

# Sums of tenths are not exact: 12.3 + 60 may fall a hair short of 72.3.
_TIME_GRAIN_SECONDS = 1e-6


@dataclass(frozen=True, slots=True)
class Detectors:
    """What is watched for, and what has to be remembered for it.

    `watch` holds conditions as `parse_condition` reads them. Clock readings, altitudes passed and courses are
    reported when they are in it; station passage, nearing, wings level and level are reported always.
    `nearing_nm` is how far from the station 'nearing' is. Raises ConditionError for a text that is none.
    """

    watch: frozenset[str] = frozenset()
    nearing_nm: float = 0.5
    turned_degrees: float = 0.0
    leaving_altitude: bool = False
    passed_seconds: float | None = None
    established: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        _watched(self.watch)

    def observe(
        self, previous: AeroplaneState, state: AeroplaneState, targets: Targets, vor: Vor
    ) -> tuple[Detectors, tuple[Happening, ...]]:
        """What happened on the way from `previous` to `state`, in a fixed order."""
        watched = _watched(self.watch)
        happenings: list[Happening] = []
        passed = self._station(previous, state, vor, happenings)
        happenings += _readings(previous, state, watched)
        turned = self._turn(previous, state, targets, happenings)
        leaving = self._altitude(state, targets, happenings)
        established = self._courses(state, vor, watched, happenings)
        memory = (turned, leaving, passed, established)
        if memory == (self.turned_degrees, self.leaving_altitude, self.passed_seconds, self.established):
            return self, tuple(happenings)
        return Detectors(self.watch, self.nearing_nm, *memory), tuple(happenings)

    def watching(self, watch: frozenset[str]) -> Detectors:
        """The same memory, other conditions. Raises ConditionError."""
        return replace(self, watch=watch)

    def _station(
        self, previous: AeroplaneState, state: AeroplaneState, vor: Vor, happenings: list[Happening]
    ) -> float | None:
        """When the station was last passed."""
        before, after = (previous.east_nm, previous.north_nm), (state.east_nm, state.north_nm)
        if vor.distance_nm(*after) <= self.nearing_nm < vor.distance_nm(*before):
            happenings.append((f"nearing {vor.ident}", {"fix": vor.ident}))
        if not vor.is_passed(before, after, state.course_degrees):
            return self.passed_seconds
        if self.passed_seconds is not None and state.seconds - self.passed_seconds < SAME_PASSAGE_SECONDS:
            return self.passed_seconds
        happenings.append((f"passage {vor.ident}", {"fix": vor.ident}))
        return state.seconds

    def _turn(
        self, previous: AeroplaneState, state: AeroplaneState, targets: Targets, happenings: list[Happening]
    ) -> float:
        """How far the turn in progress has gone, in degrees; none once the wings are level on the heading."""
        turned = self.turned_degrees
        if state.heading_degrees != previous.heading_degrees:
            turned += abs(signed_difference(previous.heading_degrees, state.heading_degrees))
        if turned == 0.0 or abs(state.bank_degrees) > LEVEL_BANK_DEGREES:
            return turned
        if targets.heading_degrees is None:
            return 0.0 if state.bank_degrees == 0.0 else turned
        left = abs(signed_difference(state.heading_degrees, targets.heading_degrees))
        if left > ON_HEADING_DEGREES:
            return turned
        # What is left counts, or a turn of exactly ten degrees would end a little short of ten.
        if turned + left >= SMALLEST_TURN_DEGREES - 0.01:
            heading = text(targets.heading_degrees)
            happenings.append((f"wings level {heading}", {"heading": heading}))
        return 0.0

    def _altitude(self, state: AeroplaneState, targets: Targets, happenings: list[Happening]) -> bool:
        """Whether the altitude is still to be reached."""
        if abs(state.altitude_feet - targets.altitude_feet) > ON_ALTITUDE_FEET:
            return True
        # Told to level off where it is, a climbing aeroplane first goes through the altitude.
        fast = abs(state.vertical_speed_feet_per_minute) > ON_ALTITUDE_FEET_PER_MINUTE
        if fast or not self.leaving_altitude:
            return self.leaving_altitude
        altitude = str(round(targets.altitude_feet))
        happenings.append((f"level {altitude}", {"altitude": altitude}))
        return False

    def _courses(
        self, state: AeroplaneState, vor: Vor, watched: _Watched, happenings: list[Happening]
    ) -> frozenset[str]:
        """The watched courses on which the aeroplane is established."""
        # Near the station the needle swings whatever one does: what was true stays true.
        if not watched.courses or vor.distance_nm(state.east_nm, state.north_nm) <= self.nearing_nm:
            return self.established
        found = set()
        for course, degrees in watched.courses:
            known = course in self.established
            off = abs(vor.needle_degrees(state.east_nm, state.north_nm, degrees))
            along = abs(signed_difference(state.heading_degrees, degrees)) <= 90.0
            if along and off <= (LOST_DEGREES if known else ESTABLISHED_DEGREES):
                found.add(course)
                if not known:
                    happenings.append((f"established {course}", {"course": course}))
        return frozenset(found)


@dataclass(frozen=True, slots=True)
class _Watched:
    """The conditions that must be looked for by value, with their values; sorted, so that order is fixed."""

    clocks: tuple[tuple[str, int], ...]
    altitudes: tuple[tuple[str, float], ...]
    courses: tuple[tuple[str, float], ...]


@lru_cache(maxsize=64)
def _watched(watch: frozenset[str]) -> _Watched:
    parsed = [parse_condition(condition) for condition in sorted(watch)]
    values = [(found.kind, found.argument) for found in parsed if found.argument is not None]
    return _Watched(
        clocks=tuple((value, duration_seconds(value)) for kind, value in values if kind == "clock"),
        altitudes=tuple((value, float(value)) for kind, value in values if kind == "passing"),
        courses=tuple((value, float(value)) for kind, value in values if kind == "established"),
    )


def _readings(previous: AeroplaneState, state: AeroplaneState, watched: _Watched) -> Iterator[Happening]:
    started = state.clock_started_seconds
    if started is not None:
        for reading, seconds in watched.clocks:
            if previous.seconds < started + seconds - _TIME_GRAIN_SECONDS <= state.seconds:
                yield f"clock {reading}", {"time": reading}
    if state.altitude_feet != previous.altitude_feet:
        for wanted, altitude in watched.altitudes:
            if (
                previous.altitude_feet < altitude <= state.altitude_feet
                or previous.altitude_feet > altitude >= state.altitude_feet
            ):
                yield f"passing {wanted}", {"altitude": wanted}
