"""Flying along a line: a course of a navaid, the way to a fix, an arc around a DME.

The aeroplane is steered by heading alone, as a pilot does it. It holds the heading that it was given until the
lead point, turns to the heading that keeps the course in the wind, and from there on corrects what is left by a
few degrees. Where its heading does not lead to the line, it first cuts it at 45 degrees, turning the shorter
way: common practice, also for an aeroplane that goes the other way and more than 90 degrees off.

It steers by where it is, in miles off the line. So the needle, which swings wildly near the station, is not
chased; within the cone it only holds what keeps the course.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from voice_trainer.flight.courses import normalise_degrees, signed_difference
from voice_trainer.flight.navaids import FEET_PER_NM, Navaid
from voice_trainer.flight.turns import bank_for_rate, radius_nm, rate_for_bank
from voice_trainer.flight.wind import Wind

Phase = Literal["finish", "hold", "back left", "back right", "cut", "join", "keep"]
"""A turn that was told before goes on; the heading is held; it turns back, on one side until it faces along the
line; the line is cut; the turn onto it; it is kept."""

CUT_DEGREES = 45.0
SMALL_CUT_DEGREES = 30.0
"""How far off its course it may head to put right what is left once it has joined."""

CORRECTION_SECONDS = 25.0
"""What is left of an error off the line dies away with this time constant."""

CONE_NM = 0.3
"""So near a station nothing is corrected; higher up it is farther, as the cone of confusion is."""

LEAST_CONVERGENCE_DEGREES = 12.0
"""A heading that comes nearer at less than this leads nowhere that the student could have meant."""

LONGEST_HOLD_SECONDS = 600.0
"""A heading that does not reach the line within this leads nowhere that the student could have meant."""

CLEAR_OF_CIRCLE = 1.5
"""Once it flies straight on because a fix is inside its turn, it turns when the fix is so many radii off."""

JOINED_DEGREES = 2.0


@dataclass(frozen=True, slots=True)
class Guidance:
    """The line that is flown, and how far that has come.

    `course_degrees` is the course of the line through the navaid, TO or FROM; None on the way straight to it, until
    the turn there is made. `arc_nm` makes it the arc at that distance instead, `clockwise` around the navaid.
    """

    navaid: Navaid
    course_degrees: float | None = None
    arc_nm: float | None = None
    clockwise: bool = True
    phase: Phase = "hold"

    @property
    def is_arc(self) -> bool:
        """Whether it goes on turning for as long as it is flown."""
        return self.arc_nm is not None

    @property
    def is_turning_to_fix(self) -> bool:
        """Whether it goes straight to a fix and does not yet head there."""
        return self.course_degrees is None and self.arc_nm is None

    @property
    def has_joined(self) -> bool:
        """Whether the line is being kept, or the turn onto it has begun."""
        return self.phase in ("join", "keep")

    def steer(
        self,
        east_nm: float,
        north_nm: float,
        altitude_feet: float,
        heading_degrees: float,
        airspeed_knots: float,
        bank_degrees: float,
        told: tuple[float | None, float],
        profile_limits: tuple[float, float],
        wind: Wind,
    ) -> tuple[float, Guidance]:
        """The heading to steer for now, and the guidance with its phase moved on.

        `told` is the heading that was told before, and how far is still to turn to it; `profile_limits` the
        steepest bank and the rate of roll.
        """
        navaid = self.navaid
        east, north = east_nm - navaid.east_nm, north_nm - navaid.north_nm
        drift_east, drift_north = wind.drift_knots
        if self.is_turning_to_fix:
            return self._direct(east, north, heading_degrees, airspeed_knots, profile_limits, wind)
        if self.arc_nm is None:
            course = self.course_degrees or 360.0
            angle = math.radians(course)
            off = east * math.cos(angle) - north * math.sin(angle)
        else:
            course, off = self._on_arc(east, north, altitude_feet)
            angle = math.radians(course)
        across = drift_east * math.cos(angle) - drift_north * math.sin(angle)
        along = drift_east * math.sin(angle) + drift_north * math.cos(angle)
        correction = _correction_degrees(across, airspeed_knots)
        keeps = normalise_degrees(course + correction)
        if self.phase == "keep":
            if self.arc_nm is None and _in_cone(east, north, altitude_feet):
                return keeps, self
            speed = max(30.0, airspeed_knots * math.cos(math.radians(correction)) + along)
            gain = math.degrees(1.0 / (CORRECTION_SECONDS * speed / 3600.0))
            back = max(-SMALL_CUT_DEGREES, min(SMALL_CUT_DEGREES, gain * off))
            return normalise_degrees(keeps - back), self
        if self.phase == "join":
            over = abs(signed_difference(heading_degrees, keeps)) <= JOINED_DEGREES
            return keeps, replace(self, phase="keep") if over else self
        return self._before_joining(
            off, course, across, keeps, heading_degrees, airspeed_knots, bank_degrees, told, profile_limits
        )

    def _before_joining(
        self,
        off: float,
        course: float,
        across: float,
        keeps: float,
        heading: float,
        airspeed: float,
        bank: float,
        told: tuple[float | None, float],
        profile_limits: tuple[float, float],
    ) -> tuple[float, Guidance]:
        wanted, left = told
        if self.phase == "finish":
            # A turn that was told is finished first, on its side: so it was said.
            if wanted is not None and (abs(left) > 1.0 or abs(bank) > 2.0):
                return wanted, self
            return self.moved("hold")._before_joining(
                off, course, across, keeps, heading, airspeed, bank, (wanted, 0.0), profile_limits
            )
        angle = signed_difference(course, heading)
        coming = airspeed * math.sin(math.radians(angle)) + across
        lead = _moved_aside_nm(heading, keeps, course, airspeed, across, profile_limits)
        if abs(angle) <= 90.0 + abs(signed_difference(course, keeps)) and off * (off + lead) <= 0.0:
            return keeps, self.moved("join")
        if self.phase == "hold":
            near = airspeed * math.sin(math.radians(LEAST_CONVERGENCE_DEGREES))
            soon = abs(coming) >= near and abs(off) <= abs(coming) * LONGEST_HOLD_SECONDS / 3600.0
            if abs(angle) <= 90.0 and off * coming < 0.0 and soon:
                return wanted if wanted is not None else heading, self
            after: Phase = "cut"
            if abs(angle) > 90.0:
                # Far off the line the shorter way is the one to the cut; near it, the one to the course.
                far = abs(off) > radius_nm(airspeed, min(bank_for_rate(airspeed), profile_limits[0]))
                goal = keeps - math.copysign(CUT_DEGREES, off) if far else keeps
                after = "back right" if signed_difference(heading, goal) > 0.0 else "back left"
            return self.moved(after)._before_joining(
                off, course, across, keeps, heading, airspeed, bank, (wanted, 0.0), profile_limits
            )
        if self.phase != "cut" and abs(angle) > 90.0:
            return normalise_degrees(heading + (90.0 if self.phase == "back right" else -90.0)), self
        cutting = self if self.phase == "cut" else self.moved("cut")
        return normalise_degrees(keeps - math.copysign(CUT_DEGREES, off)), cutting

    def moved(self, phase: Phase) -> Guidance:
        """The same line in another phase."""
        return replace(self, phase=phase)

    def _on_arc(self, east: float, north: float, altitude_feet: float) -> tuple[float, float]:
        """The course along the arc here, and the miles to the right of the arc."""
        assert self.arc_nm is not None
        radial = math.degrees(math.atan2(east, north))
        ground = math.hypot(east, north)
        shown = math.hypot(ground, altitude_feet / FEET_PER_NM) if self.navaid.has_dme else ground
        outside = shown - self.arc_nm
        if self.clockwise:
            return normalise_degrees(radial + 90.0), -outside
        return normalise_degrees(radial - 90.0), outside

    def _direct(
        self,
        east: float,
        north: float,
        heading: float,
        airspeed: float,
        profile_limits: tuple[float, float],
        wind: Wind,
    ) -> tuple[float, Guidance]:
        drift_east, drift_north = wind.drift_knots
        bearing = normalise_degrees(math.degrees(math.atan2(-east, -north)))
        angle = math.radians(bearing)
        across = drift_east * math.cos(angle) - drift_north * math.sin(angle)
        keeps = normalise_degrees(bearing + _correction_degrees(across, airspeed))
        left = signed_difference(heading, keeps)
        if abs(left) > JOINED_DEGREES:
            # A fix inside the circle that it would fly is never reached by turning: straight on until it is outside.
            # The circle is flown in the air, and the fix goes the other way meanwhile.
            bank = min(bank_for_rate(airspeed), profile_limits[0])
            hours = abs(left) / rate_for_bank(airspeed, bank) / 3600.0
            radius = radius_nm(airspeed, bank)
            wing = math.radians(heading + math.copysign(90.0, left))
            to_fix = math.hypot(
                east + drift_east * hours + radius * math.sin(wing),
                north + drift_north * hours + radius * math.cos(wing),
            )
            clear = CLEAR_OF_CIRCLE if self.phase == "hold" else 1.0
            if abs(left) > CUT_DEGREES and to_fix < clear * radius:
                return heading, self if self.phase == "hold" else self.moved("hold")
            return keeps, self.moved("cut") if self.phase == "hold" else self
        return keeps, replace(self, course_degrees=bearing, phase="keep")


def _correction_degrees(across_knots: float, airspeed_knots: float) -> float:
    """The wind correction, right positive; in a wind that cannot be held, as much as helps."""
    return math.degrees(math.asin(max(-0.9, min(0.9, -across_knots / airspeed_knots))))


def _moved_aside_nm(
    heading: float,
    keeps: float,
    course: float,
    airspeed: float,
    across: float,
    profile_limits: tuple[float, float],
) -> float:
    """How far to the right the turn from a heading to the one that keeps the course takes it.

    The turn in the air, and the wind for as long as it takes. Rolling in costs half the seconds of the roll, and
    rolling out as much.
    """
    turn = signed_difference(heading, keeps)
    if turn == 0.0:
        return 0.0
    max_bank, roll_rate = profile_limits
    bank = min(bank_for_rate(airspeed), max_bank)
    rate = math.radians(rate_for_bank(airspeed, bank))
    seconds = bank / roll_rate
    # Too short a turn for the whole bank: it is rolled in and out as far as it goes.
    if abs(turn) < math.degrees(rate) * seconds:
        seconds = math.sqrt(abs(turn) * seconds / math.degrees(rate))
        rate = math.radians(abs(turn)) / seconds
    before, after = math.radians(heading - course), math.radians(heading - course + turn)
    circle = airspeed / rate * (math.cos(before) - math.cos(after)) * math.copysign(1.0, turn)
    blown = across * (math.radians(abs(turn)) / rate)
    rolling = (airspeed * math.sin(before) + across) * seconds / 2.0
    return (circle + blown + rolling) / 3600.0


def _in_cone(east_nm: float, north_nm: float, altitude_feet: float) -> bool:
    cone = max(CONE_NM, altitude_feet / FEET_PER_NM)
    return east_nm * east_nm + north_nm * north_nm <= cone * cone
