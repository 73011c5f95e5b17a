"""From movement to events: what a drill's steps and windows wait for.

`Detectors` looks at two states of the aeroplane, a step apart, and says what happened between them, each
occurrence exactly once. Its memory is small: the turn in progress, whether an altitude is still to be reached,
when a navaid was last passed, and what is true already: the courses on which the aeroplane is established, the
needles that are alive, the distances and radials where it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from voice_trainer.flight.aeroplane import AeroplaneState, Targets
from voice_trainer.flight.conditions import Condition, ConditionError, matches, parse_condition
from voice_trainer.flight.courses import signed_difference, text
from voice_trainer.flight.navaids import Navaid
from voice_trainer.flight.timing import duration_seconds

__all__ = ["Condition", "ConditionError", "Detectors", "Happening", "matches", "parse_condition"]

Happening = tuple[str, dict[str, str]]
"""The name of an event, and its values in canonical text."""

SMALLEST_TURN_DEGREES = 10.0
LEVEL_BANK_DEGREES = 2.0
ON_HEADING_DEGREES = 2.0
ON_ALTITUDE_FEET = 20.0
ON_ALTITUDE_FEET_PER_MINUTE = 300.0
JOINING_DEGREES = 50.0
"""A needle that is crossed at a larger angle, in the middle of a turn, is not yet a course that is flown (ours)."""

ESTABLISHED_PART = 0.5
"""Of full scale: half of it, 5 degrees of a VOR (ICAO Doc 8168, established; from memory)."""
LOST_PART = 1.0
"""Full deflection: beyond it a course has to be intercepted anew."""
ALIVE_PART = 1.0
DEAD_PART = 1.2
"""A needle that trembles at its stop comes alive once."""
SQUARE_NM = 0.5
"""Nearer than this a navaid is passed, not abeam."""
PASSED_WITHIN_NM = 2.0
"""What is not tuned, or has no TO and FROM, is passed when it falls behind no farther away than this."""
TURNING_BANK_DEGREES = 5.0
"""What falls behind in a turn is not passed, unless it is overhead."""
REVERSED_WITHIN_NM = 3.0
"""A flag that turns far from its station is no passage: the course selected is another one."""
SHOWN_NM = 0.05
"""A distance is read in tenths of a mile: 10.0 is shown so far from it, also by an arc that stays just outside."""
AWAY_NM = 0.3
AWAY_DEGREES = 3.0
"""A distance or a radial counts anew only after the aeroplane was this far off it, as on an arc."""
SAME_PASSAGE_SECONDS = 60.0
"""A selector twisted just after the station may make the indicator reverse again: no second passage."""

# Sums of tenths are not exact: 12.3 + 60 may fall a hair short of 72.3.
_TIME_GRAIN_SECONDS = 1e-6


@dataclass(frozen=True, slots=True)
class Detectors:
    """What is watched for, and what has to be remembered for it.

    `watch` holds conditions as `parse_condition` reads them. What names a value, and what names another navaid than
    the tuned one, is reported when it is in it; passage and nearing of the tuned navaid, wings level, level and
    the minimums alert are reported always. `nearing_nm` is how far from a navaid 'nearing' is. Raises
    ConditionError for a text that is none.
    """

    watch: frozenset[str] = frozenset()
    nearing_nm: float = 0.5
    turned_degrees: float = 0.0
    leaving_altitude: bool = False
    passed: tuple[tuple[str, float], ...] = ()
    established: frozenset[str] = frozenset()
    alive: frozenset[str] = frozenset()
    there: frozenset[str] = frozenset()
    coming: frozenset[str] = frozenset()
    """The navaids that come nearer."""

    def __post_init__(self) -> None:
        _watched(self.watch)

    def observe(
        self,
        previous: AeroplaneState,
        state: AeroplaneState,
        targets: Targets,
        tuned: Navaid | None,
        navaids: tuple[Navaid, ...] = (),
    ) -> tuple[Detectors, tuple[Happening, ...]]:
        """What happened on the way from `previous` to `state`, in a fixed order.

        Of the targets only what is told counts here: what moves on with the steps is in the states.
        """
        watched = _watched(self.watch)
        happenings: list[Happening] = []
        passed, coming = self.passed, self.coming
        if tuned is not None and tuned not in navaids:
            navaids = (tuned, *navaids)
        for navaid in navaids:
            if navaid is not tuned and navaid.ident not in watched.idents:
                continue
            passed = self._station(previous, state, navaid, navaid is tuned, passed, watched, happenings)
            nearer = _comes_nearer(previous, state, navaid)
            if nearer != (navaid.ident in coming):
                coming = coming | {navaid.ident} if nearer else coming - {navaid.ident}
        happenings += _readings(previous, state, watched, targets)
        turned = self._turn(previous, state, targets, happenings)
        leaving = self._altitude(state, targets, happenings)
        established, alive = self._courses(state, tuned, watched, happenings)
        there = self.there
        if watched.distances or watched.radials:
            there = self._places(previous, state, navaids, watched, happenings)
        memory = (turned, leaving, passed, established, alive, there, coming)
        if memory == (
            self.turned_degrees,
            self.leaving_altitude,
            self.passed,
            self.established,
            self.alive,
            self.there,
            self.coming,
        ):
            return self, tuple(happenings)
        return Detectors(self.watch, self.nearing_nm, *memory), tuple(happenings)

    def retuned(self) -> Detectors:
        """With another navaid tuned: no course of it is established, and no needle alive yet."""
        return replace(self, established=frozenset(), alive=frozenset())

    def watching(self, watch: frozenset[str]) -> Detectors:
        """The same memory, other conditions. Raises ConditionError."""
        return replace(self, watch=watch)

    def _station(
        self,
        previous: AeroplaneState,
        state: AeroplaneState,
        navaid: Navaid,
        is_tuned: bool,
        passed: tuple[tuple[str, float], ...],
        watched: _Watched,
        happenings: list[Happening],
    ) -> tuple[tuple[str, float], ...]:
        """When which navaid was last passed."""
        east, north = state.east_nm - navaid.east_nm, state.north_nm - navaid.north_nm
        away = math.hypot(east, north)
        ident = navaid.ident
        was_away = math.hypot(previous.east_nm - navaid.east_nm, previous.north_nm - navaid.north_nm)
        if away <= self.nearing_nm < was_away:
            happenings.append((f"nearing {ident}", {"fix": ident}))
        # It falls behind: it came nearer, and does so no more.
        fell_behind = ident in self.coming and away > was_away
        # Around the station itself an arc has it abeam all the time.
        guidance = state.guidance
        goes_round = guidance is not None and guidance.is_arc and guidance.navaid is navaid
        if fell_behind and away > SQUARE_NM and ident in watched.abeam and not goes_round:
            happenings.append((f"abeam {ident}", {"fix": ident}))
        if is_tuned and not (navaid.is_localizer or navaid.kind == "waypoint"):
            if away > REVERSED_WITHIN_NM:
                return passed
            is_passed = navaid.is_passed(
                (previous.east_nm, previous.north_nm), (state.east_nm, state.north_nm), state.course_degrees
            )
        else:
            turning = abs(state.bank_degrees) > TURNING_BANK_DEGREES
            is_passed = fell_behind and away <= (SQUARE_NM if turning else PASSED_WITHIN_NM)
            # On the way straight to it, and not yet turned there, it only goes round the fix.
            if guidance is not None and guidance.navaid is navaid and guidance.is_turning_to_fix:
                is_passed = False
        if not is_passed:
            return passed
        if any(name == ident and state.seconds - at < SAME_PASSAGE_SECONDS for name, at in passed):
            return passed
        happenings.append((f"passage {ident}", {"fix": ident}))
        return (*(each for each in passed if each[0] != ident), (ident, state.seconds))

    def _turn(
        self, previous: AeroplaneState, state: AeroplaneState, targets: Targets, happenings: list[Happening]
    ) -> float:
        """How far the turn in progress has gone, in degrees; none once the wings are level on the heading."""
        # An arc is one long turn, whose end is not on a heading.
        if state.guidance is not None and state.guidance.is_arc and state.guidance.has_joined:
            return 0.0
        wanted = targets.heading_degrees if state.guided_degrees is None else state.guided_degrees
        turned = self.turned_degrees
        if state.heading_degrees != previous.heading_degrees:
            turned += abs(signed_difference(previous.heading_degrees, state.heading_degrees))
        if turned == 0.0 or abs(state.bank_degrees) > LEVEL_BANK_DEGREES:
            return turned
        if wanted is None:
            return 0.0 if state.bank_degrees == 0.0 else turned
        left = abs(signed_difference(state.heading_degrees, wanted))
        if left > ON_HEADING_DEGREES:
            return turned
        # What is left counts, or a turn of exactly ten degrees would end a little short of ten.
        if turned + left >= SMALLEST_TURN_DEGREES - 0.01:
            heading = text(wanted)
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
        self,
        state: AeroplaneState,
        tuned: Navaid | None,
        watched: _Watched,
        happenings: list[Happening],
    ) -> tuple[frozenset[str], frozenset[str]]:
        """The watched courses on which the aeroplane is established, and those whose needle is alive."""
        if not (watched.courses or watched.needles):
            return self.established, self.alive
        if tuned is None:
            return frozenset(), frozenset()
        # Near the station the needle swings whatever one does: what was true stays true.
        if tuned.kind != "waypoint" and tuned.distance_nm(state.east_nm, state.north_nm) <= self.nearing_nm:
            return self.established, self.alive
        alive = _in_scale(
            "needle alive", state, tuned, watched.needles, self.alive, (ALIVE_PART, DEAD_PART), happenings
        )
        established = _in_scale(
            "established",
            state,
            tuned,
            watched.courses,
            self.established,
            (ESTABLISHED_PART, LOST_PART),
            happenings,
        )
        return established, alive

    def _places(
        self,
        previous: AeroplaneState,
        state: AeroplaneState,
        navaids: tuple[Navaid, ...],
        watched: _Watched,
        happenings: list[Happening],
    ) -> frozenset[str]:
        """The watched distances and radials where the aeroplane has been a moment ago."""
        there = set(self.there)
        for condition, ident, miles in watched.distances:
            navaid = next((each for each in navaids if each.ident == ident), None)
            if navaid is None:
                continue
            off = navaid.shown_distance_nm(state.east_nm, state.north_nm, state.altitude_feet) - miles
            if condition in there:
                if abs(off) > AWAY_NM:
                    there.discard(condition)
                continue
            if abs(off) > AWAY_NM:
                continue
            was = (
                navaid.shown_distance_nm(previous.east_nm, previous.north_nm, previous.altitude_feet) - miles
            )
            if abs(was) > SHOWN_NM >= abs(off) or was > 0.0 > off or was < 0.0 < off:
                there.add(condition)
                happenings.append((condition, {"distance": f"{miles:g}", "fix": ident}))
        for condition, ident, radial in watched.radials:
            navaid = next((each for each in navaids if each.ident == ident), None)
            # Over the station every radial goes by: that is its passage.
            if navaid is None or navaid.distance_nm(state.east_nm, state.north_nm) <= self.nearing_nm:
                continue
            off = signed_difference(radial, navaid.radial_degrees(state.east_nm, state.north_nm))
            if condition in there:
                if abs(off) > AWAY_DEGREES:
                    there.discard(condition)
                continue
            if abs(off) > 90.0:
                continue
            was = signed_difference(radial, navaid.radial_degrees(previous.east_nm, previous.north_nm))
            if abs(was) <= 90.0 and (was > 0.0 >= off or was < 0.0 <= off):
                there.add(condition)
                happenings.append((condition, {"radial": text(radial), "fix": ident}))
        return frozenset(there)


@dataclass(frozen=True, slots=True)
class _Watched:
    """The conditions that must be looked for by value, with their values; sorted, so that order is fixed."""

    clocks: tuple[tuple[str, int], ...]
    altitudes: tuple[tuple[str, float], ...]
    courses: tuple[tuple[str, float], ...]
    needles: tuple[tuple[str, float], ...]
    distances: tuple[tuple[str, str, float], ...]
    radials: tuple[tuple[str, str, float], ...]
    withins: tuple[tuple[str, float, float], ...]
    abeam: frozenset[str]
    idents: frozenset[str]


@lru_cache(maxsize=64)
def _watched(watch: frozenset[str]) -> _Watched:
    parsed = [(condition, parse_condition(condition)) for condition in sorted(watch)]
    values = [
        (condition, found.kind, found.argument) for condition, found in parsed if found.argument is not None
    ]

    def of(kind: str) -> list[tuple[str, str]]:
        return [(condition, value) for condition, each, value in values if each == kind]

    def parts(kind: str) -> list[tuple[str, str, str]]:
        return [(condition, value.split()[0], value.split()[-1]) for condition, value in of(kind)]

    return _Watched(
        clocks=tuple((value, duration_seconds(value)) for _, value in of("clock")),
        altitudes=tuple((value, float(value)) for _, value in of("passing")),
        courses=tuple((value, float(value)) for _, value in of("established")),
        needles=tuple((value, float(value)) for _, value in of("needle alive")),
        distances=tuple((condition, ident, float(miles)) for condition, miles, ident in parts("distance")),
        radials=tuple((condition, ident, float(radial)) for condition, radial, ident in parts("radial")),
        withins=tuple((condition, float(feet), float(told)) for condition, feet, told in parts("within")),
        abeam=frozenset(value for _, value in of("abeam")),
        idents=frozenset(value for kind in ("passage", "nearing", "abeam") for _, value in of(kind)),
    )


def _comes_nearer(previous: AeroplaneState, state: AeroplaneState, navaid: Navaid) -> bool:
    return navaid.distance_nm(state.east_nm, state.north_nm) < navaid.distance_nm(
        previous.east_nm, previous.north_nm
    )


def _in_scale(
    kind: str,
    state: AeroplaneState,
    tuned: Navaid,
    courses: tuple[tuple[str, float], ...],
    known: frozenset[str],
    parts: tuple[float, float],
    happenings: list[Happening],
) -> frozenset[str]:
    """The courses whose needle stands within a part of full scale, on a heading that goes that way."""
    if not courses:
        return known
    found = set()
    for course, degrees in courses:
        across = abs(signed_difference(state.heading_degrees, degrees))
        if across > 90.0 or (kind == "established" and course not in known and across > JOINING_DEGREES):
            continue
        off = tuned.deflection(state.east_nm, state.north_nm, degrees)
        if off is not None and abs(off) <= parts[course in known]:
            found.add(course)
            if course not in known:
                happenings.append((f"{kind} {course}", {"course": course}))
    return frozenset(found)


def _readings(
    previous: AeroplaneState, state: AeroplaneState, watched: _Watched, targets: Targets
) -> Iterator[Happening]:
    started = state.clock_started_seconds
    if started is not None:
        for reading, seconds in watched.clocks:
            if previous.seconds < started + seconds - _TIME_GRAIN_SECONDS <= state.seconds:
                yield f"clock {reading}", {"time": reading}
    if state.altitude_feet == previous.altitude_feet:
        return
    for wanted, altitude in watched.altitudes:
        if (
            previous.altitude_feet < altitude <= state.altitude_feet
            or previous.altitude_feet > altitude >= state.altitude_feet
        ):
            yield f"passing {wanted}", {"altitude": wanted}
    for condition, feet, told in watched.withins:
        if told == targets.altitude_feet and abs(previous.altitude_feet - told) > feet >= abs(
            state.altitude_feet - told
        ):
            yield condition, {"altitude": f"{told:.0f}", "height": f"{feet:.0f}"}
    alert = state.cockpit.minimums_alert_feet
    if alert is not None and previous.altitude_feet > alert >= state.altitude_feet:
        yield "minimums alert", {"minimums": f"{alert:.0f}"}
