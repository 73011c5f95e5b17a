"""One day, and one approach on it: what every part of a derivation needs, and the numbers that several share."""

from __future__ import annotations

import math
from dataclasses import dataclass

from voice_trainer.drills.model import Navaid
from voice_trainer.flight.courses import Side, normalise_degrees, signed_difference, text
from voice_trainer.flight.wind import Wind, drift_correction
from voice_trainer.procedures.approach import Approach, Arc, StraightIn
from voice_trainer.procedures.house_flow import HouseFlow
from voice_trainer.procedures.today import Today

HEADING_TOLERANCE_DEGREES = 2.0
"""A heading that was worked out in the head may be so far from the exact one (ours)."""

TIME_TOLERANCE_SECONDS = 3.0
"""As far as the exact time and the one interpolated from a chart's table may lie apart (ours; see the tests of
approach timing)."""


SMALLEST_TURN_DEGREES = 12.0
"""A smaller one is a correction, and nothing is timed from its end: the flight's own detector has 10, some to spare."""

SMALLEST_CORRECTION_DEGREES = 3.0
"""Within the tolerance of a heading there is nothing to turn to."""


@dataclass(frozen=True, slots=True)
class Corrected:
    """The heading that keeps a course, in whole degrees as it is said, and how it was worked out."""

    heading: str
    groundspeed_knots: float
    because: str


@dataclass(frozen=True, slots=True)
class Day:
    """Today, and the house that flies."""

    today: Today
    flow: HouseFlow

    def corrected(self, course_degrees: float, airspeed_knots: float) -> Corrected:
        """The heading for a course in today's wind. Raises WindError where there is none."""
        wind = self.today.wind
        triangle = drift_correction(course_degrees, airspeed_knots, wind)
        heading = text(triangle.heading_degrees)
        return Corrected(
            heading, triangle.groundspeed_knots, _arithmetic(course_degrees, airspeed_knots, wind, heading)
        )

    def outbound_heading(self, course_degrees: float, airspeed_knots: float) -> Corrected:
        """The same, or the course itself where the house corrects later."""
        exact = self.corrected(course_degrees, airspeed_knots)
        if self.flow.corrects_for_wind:
            return exact
        course = text(course_degrees)
        return Corrected(course, exact.groundspeed_knots, f"The turn is to the course, {course}.")

    @property
    def speed_before_the_fix_knots(self) -> float:
        """How fast it is until it slows for the procedure."""
        return self.today.profile.manoeuvring_knots

    @property
    def procedure_knots(self) -> float:
        """How fast the course reversal is flown."""
        return self.today.profile.procedure_turn_knots

    @property
    def final_knots(self) -> float:
        """How fast the final is flown."""
        return self.today.profile.final_knots


@dataclass(frozen=True, slots=True)
class Setting(Day):
    """An approach on one day."""

    approach: Approach

    @property
    def arrival_knots(self) -> float:
        """How fast it begins: a vector and an arc are flown at the speed of the procedure already."""
        reversal = self.approach.course_reversal
        is_slow = isinstance(reversal, Arc | StraightIn)
        return self.procedure_knots if is_slow else self.speed_before_the_fix_knots

    @property
    def until_established_feet(self) -> int:
        """The altitude until established inbound: the charted one, or the controller's in its place."""
        amendment = self.today.amendment
        return self.approach.course_reversal.altitude_feet if amendment is None else amendment.altitude_feet

    @property
    def initial_fix(self) -> Navaid:
        """Where the approach begins."""
        return self.approach.navaid(self.approach.initial_fix)

    @property
    def arrival_course_degrees(self) -> float:
        """The course on which the initial fix is reached."""
        return normalise_degrees(self.approach.start.radial_degrees + 180.0)


def turn_side(from_degrees: float, to_degrees: float) -> Side:
    """The side of the shorter turn; right for half a circle."""
    return "right" if signed_difference(from_degrees, to_degrees) > 0.0 else "left"


def rounded(knots: float) -> str:
    """A speed as it is said."""
    return str(math.floor(knots + 0.5))


def _arithmetic(course_degrees: float, airspeed_knots: float, wind: Wind, heading: str) -> str:
    course = text(course_degrees)
    correction = round(signed_difference(course_degrees, float(heading)))
    if wind.knots == 0.0:
        return f"The course is {course}, and there is no wind."
    told = f"the wind, {text(wind.from_degrees)} at {wind.knots:g}, at {airspeed_knots:g} knots"
    if correction == 0:
        return f"The course is {course}; {told} asks for no correction."
    side = "right" if correction > 0 else "left"
    degrees = "degree" if abs(correction) == 1 else "degrees"
    return f"The course is {course}; {told} asks for {abs(correction)} {degrees} to the {side}: {heading}."
