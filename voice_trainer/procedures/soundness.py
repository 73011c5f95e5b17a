"""What is wrong with an approach whose numbers are each legal: courses that don't meet, altitudes that go up, a final
of no length, a course reversal outside its own limit.

Each fault says at which key it is, so that a reader can point at the line.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from voice_trainer.flight.courses import signed_difference, text
from voice_trainer.flight.procedure_turn import FASTEST_KNOTS
from voice_trainer.procedures.approach import (
    Approach,
    Arc,
    HoldInLieu,
    NoProcedureTurn,
    ProcedureTurn,
    StraightIn,
    Teardrop,
)
from voice_trainer.procedures.hold import HoldProcedure

Place = tuple[str | int, ...]

STEEPEST_FEET_A_MILE = 400.0
"""The most that a straight-in final may descend: check of FAA Order 8260.3 as quoted in forums (third hand)."""

LARGEST_TURN_DEGREES = 90.0
"""Who has to turn by more at the initial fix needs a course reversal (FAA Order 8260.3; from memory)."""

SHORTEST_FEEDER_NM = 10.0
"""Before the initial fix: set-up, brief, a descent, an amended altitude, and slowing down (ours)."""

SHORTEST_INBOUND_NM = 5.0
"""From the initial fix to the final approach fix, to go down, slow and configure (ours)."""

STEEPEST_INBOUND_FEET_A_MILE = 318.0
"""The most between the initial fix and the final approach fix (FAA Order 8260.3; from memory)."""

OFF_COURSE_NM = 0.2
"""A fix that is meant to lie on a course may lie so far beside it: its miles are rounded (ours)."""

HAS_DISTANCE = ("vor/dme", "tacan", "ils", "localizer", "waypoint")


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong, at which key of the file, and what to do."""

    place: Place
    what: str
    advice: str


def faults_of(approach: Approach) -> list[Fault]:
    """Everything that is wrong, in no special order."""
    return [
        *_idents(approach),
        *_courses(approach),
        *_altitudes(approach),
        *_lengths(approach),
        *_initial_fix(approach),
    ]


def faults_of_hold(hold: HoldProcedure) -> list[Fault]:
    """Everything that is wrong with a hold."""
    known = [navaid.ident for navaid in hold.navaids]
    found: list[Fault] = []
    if hold.fix not in known:
        found.append(
            Fault(("fix",), f"no navaid of this hold is called {hold.fix}", f"use one of {', '.join(known)}")
        )
    if hold.start.altitude_feet < hold.altitude_feet:
        what = f"it begins at {hold.start.altitude_feet:,}, below the {hold.altitude_feet:,} of the hold"
        found.append(Fault(("start", "altitude_feet"), what, "begin no lower than that"))
    if hold.start.distance_nm < SHORTEST_WAY_NM:
        what = (
            f"it begins at {hold.start.distance_nm:g} miles: too near for the clearance and for slowing down"
        )
        found.append(Fault(("start", "distance_nm"), what, f"begin at {SHORTEST_WAY_NM:g} miles or more"))
    return found


SHORTEST_WAY_NM = 12.0
"""From the clearance of a hold to its fix: three minutes to slow down (AIM 5-3-8), and some to read back."""


def _idents(approach: Approach) -> Iterator[Fault]:
    known = [navaid.ident for navaid in approach.navaids]
    for index, ident in enumerate(known):
        if ident in known[:index]:
            yield Fault(
                ("navaids", index, "ident"), f"two navaids are called {ident}", "give each its own ident"
            )
    named: list[tuple[Place, str | None]] = [
        (("initial_fix",), approach.initial_fix),
        (("final", "navaid"), approach.final.navaid),
        (("final", "fix"), approach.final.fix),
        (("final", "missed_approach_point", "fix"), approach.final.missed_approach_point.fix),
        (("missed_approach", "to"), approach.missed_approach.to),
        (
            ("missed_approach", "hold", "fix"),
            approach.missed_approach.hold.fix if approach.missed_approach.hold else None,
        ),
    ]
    for place, name in named:
        if name is not None and name not in known:
            yield Fault(
                place,
                f"no navaid of this approach is called {name}",
                f"use one of {', '.join(known)}, or add it",
            )
    final = approach.final
    if final.navaid not in known:
        return
    navaid = approach.navaid(final.navaid)
    by_distance = (
        final.fix_distance_nm is not None or final.missed_approach_point.by == "distance" or final.step_downs
    )
    if by_distance and navaid.kind not in HAS_DISTANCE:
        yield Fault(
            ("final", "navaid"),
            f"{navaid.ident} is a {navaid.kind} and gives no distance, but the final needs one",
            "use a vor/dme or a tacan, or find its fixes without a distance",
        )
    if final.glidepath and navaid.kind != "ils":
        yield Fault(
            ("final", "glidepath"),
            f"{navaid.ident} is a {navaid.kind} and has no glidepath",
            "use an ils, or false",
        )
    front = navaid.course_degrees
    if front is not None and abs(signed_difference(front, final.course_degrees)) > 1.0:
        yield Fault(
            ("final", "course_degrees"),
            f"the final course is {text(final.course_degrees)}, but {navaid.ident} points along {text(front)}",
            "they are the same course: correct one",
        )


def _courses(approach: Approach) -> Iterator[Fault]:
    reversal = approach.course_reversal
    outbound = approach.outbound_degrees
    if isinstance(reversal, Teardrop):
        off = abs(signed_difference(outbound, reversal.outbound_degrees))
        if not 10.0 <= off <= 40.0:
            yield Fault(
                ("course_reversal", "outbound_degrees"),
                f"outbound {text(reversal.outbound_degrees)} lies {off:.0f} degrees from {text(outbound)}, the "
                "reciprocal of the final course: the courses don't meet in one turn",
                "a teardrop goes out 10 to 40 degrees to one side",
            )
    if isinstance(reversal, Arc):
        off = abs(signed_difference(approach.start.radial_degrees, outbound))
        if off < 30.0:
            yield Fault(
                ("start", "radial_degrees"),
                f"the arc begins {off:.0f} degrees from where it ends, on radial {text(outbound)}",
                "begin 30 degrees or more before it",
            )
        if approach.start.distance_nm <= reversal.distance_nm + 2.0:
            yield Fault(
                ("start", "distance_nm"),
                f"it begins at {approach.start.distance_nm:g} miles, and the arc is at {reversal.distance_nm:g}",
                "begin more than 2 miles outside the arc",
            )
    hold = approach.missed_approach.hold
    if hold is not None and hold.fix != approach.missed_approach.to:
        yield Fault(
            ("missed_approach", "hold", "fix"),
            f"the missed approach goes to {approach.missed_approach.to}, and holds at {hold.fix}",
            "hold where it goes to",
        )


def _altitudes(approach: Approach) -> Iterator[Fault]:
    final, field, reversal = approach.final, approach.field, approach.course_reversal
    if approach.start.altitude_feet < reversal.altitude_feet:
        yield Fault(
            ("start", "altitude_feet"),
            f"it begins at {approach.start.altitude_feet:,}, below the {reversal.altitude_feet:,} of the course "
            "reversal",
            "begin no lower than that",
        )
    if reversal.altitude_feet < final.altitude_feet:
        yield Fault(
            ("final", "altitude_feet"),
            f"{final.altitude_feet:,} at the fix is above the {reversal.altitude_feet:,} before it",
            "an approach goes down: correct one",
        )
    above = final.altitude_feet
    for index, step in enumerate(final.step_downs):
        place: Place = ("final", "step_downs", index, "altitude_feet")
        if step.altitude_feet >= above:
            yield Fault(
                place,
                f"the step-down at {step.altitude_feet:,} is not below {above:,} before it",
                "correct one",
            )
        if step.altitude_feet <= final.minimums_feet:
            yield Fault(
                place,
                f"the step-down at {step.altitude_feet:,} is not above the minimums, {final.minimums_feet:,}",
                "correct one",
            )
        above = step.altitude_feet
    if final.minimums_feet >= final.altitude_feet:
        yield Fault(
            ("final", "minimums_feet"),
            f"the minimums, {final.minimums_feet:,}, are not below the {final.altitude_feet:,} at the fix",
            "correct one",
        )
    if final.minimums_feet < field.touchdown_elevation_feet + 200:
        yield Fault(
            ("final", "minimums_feet"),
            f"the minimums, {final.minimums_feet:,}, are less than 200 feet above the touchdown zone at "
            f"{field.touchdown_elevation_feet:,}",
            "no approach of these kinds goes so low: correct one",
        )
    if approach.missed_approach.climb_feet <= final.minimums_feet:
        yield Fault(
            ("missed_approach", "climb_feet"),
            f"a missed approach that climbs to {approach.missed_approach.climb_feet:,} does not climb from "
            f"{final.minimums_feet:,}",
            "correct one",
        )


def _lengths(approach: Approach) -> Iterator[Fault]:
    final, point = approach.final, approach.final.missed_approach_point
    length = final_length_nm(approach)
    place: Place = (
        "final",
        "missed_approach_point",
        "distance_nm" if point.distance_nm is not None else "by",
    )
    if length is not None and length <= 0.5:
        yield Fault(
            place,
            f"a final of {max(length, 0):g} miles is none",
            "the fix lies before the missed approach point",
        )
    elif length is not None and not final.glidepath:
        gradient = (final.altitude_feet - final.minimums_feet) / length
        if gradient > STEEPEST_FEET_A_MILE:
            yield Fault(
                ("final", "altitude_feet"),
                f"from {final.altitude_feet:,} to {final.minimums_feet:,} in {length:g} miles are {gradient:.0f} feet "
                f"a mile; {STEEPEST_FEET_A_MILE:.0f} are the most",
                "correct an altitude, or the distance",
            )
    before = final.fix_distance_nm
    for index, step in enumerate(final.step_downs):
        if before is not None and step.distance_nm >= before:
            yield Fault(
                ("final", "step_downs", index, "distance_nm"),
                f"the step-down at {step.distance_nm:g} miles does not come after {before:g}",
                "list them as they are flown, towards the navaid",
            )
        before = step.distance_nm
    yield from _reversal_length(approach)


def _reversal_length(approach: Approach) -> Iterator[Fault]:
    reversal = approach.course_reversal
    miles_a_second = FASTEST_KNOTS / 3600.0
    if isinstance(reversal, ProcedureTurn):
        # The outbound leg, the 45-degree leg of a minute as far as it goes outbound, and a turn of standard rate.
        farthest = (reversal.outbound_seconds + 60.0 * 0.7071 + 20.0) * miles_a_second
    elif isinstance(reversal, Teardrop):
        farthest = (reversal.outbound_seconds + 20.0) * miles_a_second
    elif isinstance(reversal, HoldInLieu):
        farthest = 80.0 * miles_a_second if reversal.leg_nm is None else reversal.leg_nm + 1.5
    else:
        return
    if farthest > reversal.limit_nm:
        yield Fault(
            (
                "course_reversal",
                "limit_nm" if not hasattr(reversal, "outbound_seconds") else "outbound_seconds",
            ),
            f"at {FASTEST_KNOTS:.0f} knots the course reversal goes out {farthest:.1f} miles, past its own "
            f"limit of {reversal.limit_nm:g}",
            "shorten the time outbound, or correct the limit",
        )


def _initial_fix(approach: Approach) -> Iterator[Fault]:
    """What is wrong with an initial fix from which it goes straight on inbound."""
    known = [navaid.ident for navaid in approach.navaids]
    final, reversal = approach.final, approach.course_reversal
    if not isinstance(reversal, NoProcedureTurn) or not {
        approach.initial_fix,
        final.navaid,
        final.fix or final.navaid,
    } <= set(known):
        return
    navaid, fix = approach.navaid(final.navaid), approach.navaid(approach.initial_fix)
    angle = math.radians(approach.outbound_degrees)

    def along_and_across(east_nm: float, north_nm: float) -> tuple[float, float]:
        east, north = east_nm - navaid.east_nm, north_nm - navaid.north_nm
        return (
            east * math.sin(angle) + north * math.cos(angle),
            east * math.cos(angle) - north * math.sin(angle),
        )

    along, across = along_and_across(fix.east_nm, fix.north_nm)
    if abs(across) > OFF_COURSE_NM:
        yield Fault(
            ("initial_fix",),
            f"{fix.ident} lies {abs(across):.1f} miles beside the final course, {text(final.course_degrees)}: who "
            "comes from there does not fly straight on",
            "correct its place, or give a course reversal",
        )
    final_fix = final.fix_distance_nm or 0.0
    if final.fix is not None:
        of = approach.navaid(final.fix)
        final_fix = along_and_across(of.east_nm, of.north_nm)[0]
    length = along - final_fix
    if length < SHORTEST_INBOUND_NM:
        where = f"{length:.1f} miles before" if length > 0.0 else "not before"
        yield Fault(
            ("initial_fix",),
            f"{fix.ident} lies {where} the final approach fix",
            f"it lies {SHORTEST_INBOUND_NM:g} miles or more before it",
        )
    elif (down := (reversal.altitude_feet - final.altitude_feet) / length) > STEEPEST_INBOUND_FEET_A_MILE:
        yield Fault(
            ("course_reversal", "altitude_feet"),
            f"from {reversal.altitude_feet:,} to {final.altitude_feet:,} in {length:.1f} miles are {down:.0f} feet a "
            f"mile; {STEEPEST_INBOUND_FEET_A_MILE:.0f} are the most",
            "correct an altitude",
        )
    if approach.start.distance_nm < SHORTEST_FEEDER_NM:
        yield Fault(
            ("start", "distance_nm"),
            f"it begins at {approach.start.distance_nm:g} miles: too near for the set-up and the way to {fix.ident}",
            f"begin at {SHORTEST_FEEDER_NM:g} miles or more",
        )
    turned = abs(signed_difference(approach.start.radial_degrees, approach.outbound_degrees))
    if turned > LARGEST_TURN_DEGREES:
        yield Fault(
            ("start", "radial_degrees"),
            f"from radial {text(approach.start.radial_degrees)} the turn at {fix.ident} is {turned:.0f} degrees; "
            f"{LARGEST_TURN_DEGREES:.0f} are the most without a course reversal",
            "come from elsewhere, or give a course reversal",
        )


def final_length_nm(approach: Approach) -> float | None:
    """From the final approach fix to the missed approach point, as far as the numbers tell; None where they don't."""
    final, point = approach.final, approach.final.missed_approach_point
    if point.by == "time":
        return point.distance_nm
    if point.by == "minimums" or (isinstance(approach.course_reversal, StraightIn) and final.fix is not None):
        return None
    if final.fix_distance_nm is not None:
        return final.fix_distance_nm - (point.distance_nm or 0.0 if point.by == "distance" else 0.0)
    return None
