"""The aeroplane that a drill flies: a state, targets to reach, and steps of a tenth of a second.

It flies itself, as a good pilot would: it turns at standard rate or at its maximum bank, whichever is less
(AIM 5-3-8), rolls out so as to end wings level on the heading, and begins to level off a tenth of its
vertical speed before the altitude (CNATRA P-765 s.401). What it flies *to* is what the student said.

Only whole steps are ever taken, and a step depends on nothing but what it starts from. So the same commands
at the same times give the same flight to the last bit, however often in between it is asked to advance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from voice_trainer.flight.courses import normalise_degrees, signed_difference
from voice_trainer.flight.guidance import Guidance
from voice_trainer.flight.navaids import FEET_PER_NM, Navaid
from voice_trainer.flight.profile import Profile
from voice_trainer.flight.turns import bank_for_rate, bank_for_roll_out, rate_for_bank
from voice_trainer.flight.wind import CALM, Wind

STEP_SECONDS = 0.1

LEVEL_OFF_SECONDS = 6.0
"""The vertical speed dies away with this time constant: levelling off begins at a tenth of it (in feet)."""

GLIDEPATH_CAPTURE_FEET = 15.0
"""So far below the glidepath it lowers the nose."""

PAST_GLIDEPATH_FEET = 60.0
"""This far above it, a glidepath that was to be met from below has been missed."""

Turn = Literal["left", "right", "shortest"]


@dataclass(frozen=True, slots=True)
class Cockpit:
    """What is set by hand and does not move on its own: the texts as they were told, degrees and feet.

    The limits of speed that a gear and flaps have are not modelled.
    """

    gear: str = "up"
    flaps: str = "up"
    bug_degrees: float | None = None
    minimums_alert_feet: float | None = None


@dataclass(frozen=True, slots=True)
class AeroplaneState:
    """Where the aeroplane is and what it does at one moment.

    `course_degrees` is the course set on the VOR indicator; `clock_started_seconds` is when the panel's clock
    was started, None while it has not been; `seconds` is the flight's own time. `guided_degrees` is the heading
    to which a line that is flown, its `guidance`, steers it at this moment; both None while it flies a heading that
    was told.
    """

    east_nm: float
    north_nm: float
    altitude_feet: float
    heading_degrees: float
    airspeed_knots: float
    bank_degrees: float = 0.0
    vertical_speed_feet_per_minute: float = 0.0
    course_degrees: float = 360.0
    clock_started_seconds: float | None = None
    seconds: float = 0.0
    guided_degrees: float | None = None
    guidance: Guidance | None = None
    cockpit: Cockpit = Cockpit()


@dataclass(frozen=True, slots=True)
class Targets:
    """What the aeroplane is told to reach.

    Without a heading it keeps its wings level. `turn` is the side on which it goes there. Without a vertical
    speed (feet a minute, its sign is not looked at) it climbs and descends as its profile says. A `guidance` steers
    in place of the heading. `glidepath` is the ils whose glidepath is to be met from below, and followed once
    `on_glidepath`.
    """

    heading_degrees: float | None
    altitude_feet: float
    airspeed_knots: float
    turn: Turn = "shortest"
    vertical_speed_feet_per_minute: float | None = None
    guidance: Guidance | None = None
    glidepath: Navaid | None = None
    on_glidepath: bool = False

    @classmethod
    def holding(cls, state: AeroplaneState) -> Targets:
        """To go on as it is: the heading, the altitude and the airspeed of this moment."""
        return cls(state.heading_degrees, state.altitude_feet, state.airspeed_knots)


@dataclass(frozen=True, slots=True)
class Aeroplane:
    """An aeroplane in the air, the navaids and waypoints that it knows, and the one that its receiver shows."""

    state: AeroplaneState
    targets: Targets
    profile: Profile
    wind: Wind = CALM
    navaids: tuple[Navaid, ...] = ()
    tuned: Navaid | None = None

    def step(self) -> Aeroplane:
        """The aeroplane a tenth of a second later."""
        state, targets = _stepped(self.state, self.targets, self.profile, self.wind)
        return replace(self, state=state, targets=targets)

    def advance(self, to_seconds: float) -> tuple[Aeroplane, list[AeroplaneState]]:
        """The aeroplane at the last whole step not after `to_seconds`, and its state at each step until then.

        The rest of the time is not lost: the next call goes on from the step that was reached. A time that
        has gone by already changes nothing. Raises ValueError for a time that is not finite.
        """
        if not math.isfinite(to_seconds):
            raise ValueError(f"cannot fly until {to_seconds} seconds")
        state, targets = self.state, self.targets
        samples: list[AeroplaneState] = []
        while state.seconds + STEP_SECONDS <= to_seconds + 1e-6:
            state, targets = _stepped(state, targets, self.profile, self.wind)
            samples.append(state)
        return (replace(self, state=state, targets=targets) if samples else self), samples


def _stepped(
    state: AeroplaneState, targets: Targets, profile: Profile, wind: Wind
) -> tuple[AeroplaneState, Targets]:
    airspeed = _towards(
        state.airspeed_knots, targets.airspeed_knots, profile.acceleration_knots_per_second * STEP_SECONDS
    )
    remaining, targets, guided = _left_to_turn(state, targets, profile, wind)
    wanted = targets.heading_degrees if guided is None else guided
    bank, turned = _rolled(state.bank_degrees, remaining, airspeed, profile)
    if wanted is not None and turned == remaining:
        heading = normalise_degrees(wanted)
    else:
        heading = normalise_degrees(state.heading_degrees + turned)
    if targets.glidepath is not None:
        targets = _met_glidepath(state, targets, targets.glidepath)
    if targets.on_glidepath and targets.glidepath is not None:
        altitude, vertical_speed = _descended(state, targets.glidepath, profile, wind)
    else:
        altitude, vertical_speed = _climbed(state, targets, profile)

    # The heading halfway through the step makes circles close.
    course_through_air = math.radians(state.heading_degrees + turned / 2.0)
    mean_airspeed = (state.airspeed_knots + airspeed) / 2.0
    drift_east, drift_north = wind.drift_knots
    hours = STEP_SECONDS / 3600.0
    return (
        AeroplaneState(
            east_nm=state.east_nm + (mean_airspeed * math.sin(course_through_air) + drift_east) * hours,
            north_nm=state.north_nm + (mean_airspeed * math.cos(course_through_air) + drift_north) * hours,
            altitude_feet=altitude,
            heading_degrees=heading,
            airspeed_knots=airspeed,
            bank_degrees=bank,
            vertical_speed_feet_per_minute=vertical_speed,
            course_degrees=state.course_degrees,
            clock_started_seconds=state.clock_started_seconds,
            seconds=round(state.seconds + STEP_SECONDS, 6),
            guided_degrees=guided,
            guidance=targets.guidance,
            cockpit=state.cockpit,
        ),
        targets,
    )


def _left_to_turn(
    state: AeroplaneState, targets: Targets, profile: Profile, wind: Wind
) -> tuple[float, Targets, float | None]:
    """Degrees still to turn, right positive; the targets moved on; and the heading that a line steers to."""
    guidance = targets.guidance
    if guidance is None:
        return *_left_to_heading(state.heading_degrees, targets), None
    left = 0.0
    if guidance.phase == "finish":
        left, targets = _left_to_heading(state.heading_degrees, targets)
    wanted, moved = guidance.steer(
        state.east_nm,
        state.north_nm,
        state.altitude_feet,
        state.heading_degrees,
        state.airspeed_knots,
        state.bank_degrees,
        (targets.heading_degrees, left),
        (profile.max_bank_degrees, profile.roll_rate_degrees_per_second),
        wind,
    )
    if moved is not guidance:
        targets = replace(targets, guidance=moved)
    if moved.phase != "finish":
        left = signed_difference(state.heading_degrees, wanted)
    return left, targets, wanted


def _left_to_heading(heading: float, targets: Targets) -> tuple[float, Targets]:
    """Degrees still to turn, right positive; and the targets, with the side forgotten once it is decided.

    On the last quarter of the way the side that was told is the shorter one. From there on the shortest way
    is right, also for the few hundredths of a degree that the roll-out may go too far.
    """
    if targets.heading_degrees is None:
        return 0.0, targets
    shortest = signed_difference(heading, targets.heading_degrees)
    match targets.turn:
        case "left":
            remaining = -((heading - targets.heading_degrees) % 360.0)
        case "right":
            remaining = (targets.heading_degrees - heading) % 360.0
        case "shortest":
            return shortest, targets
    if abs(remaining) <= 90.0:
        targets = replace(targets, turn="shortest")
    return remaining, targets


def _rolled(bank: float, remaining: float, airspeed: float, profile: Profile) -> tuple[float, float]:
    """The bank at the end of a step, and the degrees turned during it."""
    if bank == 0.0 and remaining == 0.0:
        return 0.0, 0.0
    roll = profile.roll_rate_degrees_per_second * STEP_SECONDS
    # Less than one step of roll, and less to turn than one such step turns: the turn is over.
    finest = max(0.05, rate_for_bank(airspeed, roll) * STEP_SECONDS)
    if abs(bank) <= roll and abs(remaining) <= finest:
        return 0.0, remaining
    limit = min(bank_for_rate(airspeed), profile.max_bank_degrees)
    # By the end of the step this much is left: deciding by what is left now would be a step too late.
    left = remaining - rate_for_bank(airspeed, bank) * STEP_SECONDS
    steepest = bank_for_roll_out(airspeed, left, profile.roll_rate_degrees_per_second)
    after = _towards(bank, math.copysign(min(limit, steepest), left), roll)
    return after, rate_for_bank(airspeed, (bank + after) / 2.0) * STEP_SECONDS


def _climbed(state: AeroplaneState, targets: Targets, profile: Profile) -> tuple[float, float]:
    """The altitude and the vertical speed at the end of a step."""
    error = targets.altitude_feet - state.altitude_feet
    before = state.vertical_speed_feet_per_minute
    if error == 0.0 and before == 0.0:
        return state.altitude_feet, 0.0
    rate = targets.vertical_speed_feet_per_minute
    if rate is None:
        rate = profile.climb_rate_feet_per_minute if error > 0.0 else profile.descent_rate_feet_per_minute
    rate = abs(rate)
    pitch = profile.pitch_rate_feet_per_minute_per_second
    # Where the nose cannot come round as fast as the usual level-off asks, it begins earlier.
    time_constant = max(LEVEL_OFF_SECONDS, rate / pitch)
    wanted = max(-rate, min(rate, error * 60.0 / time_constant))
    after = _towards(before, wanted, pitch * STEP_SECONDS)
    altitude = state.altitude_feet + (before + after) / 2.0 * STEP_SECONDS / 60.0
    if abs(targets.altitude_feet - altitude) < 0.5 and abs(after) < 2.0 * pitch * STEP_SECONDS:
        return targets.altitude_feet, 0.0
    return altitude, after


def _met_glidepath(state: AeroplaneState, targets: Targets, ils: Navaid) -> Targets:
    """The targets, with the glidepath followed from where it is met from below, on the localizer."""
    if targets.on_glidepath:
        return targets
    path = ils.glidepath_feet(state.east_nm, state.north_nm)
    course = ils.front_course_degrees
    if path is None or course is None:
        return targets
    if not -PAST_GLIDEPATH_FEET <= path - state.altitude_feet <= GLIDEPATH_CAPTURE_FEET:
        return targets
    off = ils.deflection(state.east_nm, state.north_nm, course)
    along = abs(signed_difference(state.heading_degrees, course)) <= 90.0
    if off is None or abs(off) >= 1.0 or not along:
        return targets
    return replace(targets, on_glidepath=True)


def _descended(state: AeroplaneState, ils: Navaid, profile: Profile, wind: Wind) -> tuple[float, float]:
    """The altitude and the vertical speed at the end of a step down the glidepath; level where it ends."""
    ground = ils.threshold_elevation_feet or 0.0
    path = ils.glidepath_feet(state.east_nm, state.north_nm)
    angle = math.radians(state.heading_degrees)
    course = math.radians(ils.front_course_degrees or 360.0)
    drift_east, drift_north = wind.drift_knots
    along = (
        state.airspeed_knots * math.cos(angle - course)
        + drift_east * math.sin(course)
        + drift_north * math.cos(course)
    )
    slope = math.tan(math.radians(ils.glidepath_degrees or 0.0))
    rate = max(0.0, along) * FEET_PER_NM / 60.0 * slope if path is not None else 0.0
    error = (ground if path is None else path) - state.altitude_feet
    steepest = max(profile.descent_rate_feet_per_minute, 1.5 * rate)
    wanted = max(-steepest, min(0.0, error * 60.0 / LEVEL_OFF_SECONDS - rate))
    before = state.vertical_speed_feet_per_minute
    after = _towards(before, wanted, profile.pitch_rate_feet_per_minute_per_second * STEP_SECONDS)
    altitude = state.altitude_feet + (before + after) / 2.0 * STEP_SECONDS / 60.0
    return (ground, 0.0) if altitude <= ground else (altitude, after)


def _towards(value: float, target: float, most: float) -> float:
    """`value` moved towards `target`, by no more than `most`."""
    return target if abs(target - value) <= most else value + math.copysign(most, target - value)
