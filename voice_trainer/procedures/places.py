"""Fixes and points: the event at which each is reached, and how it is spoken of."""

from __future__ import annotations

import math

from voice_trainer.drills.model import Navaid
from voice_trainer.flight.approach_timing import fix_to_missed_seconds
from voice_trainer.flight.courses import reciprocal
from voice_trainer.flight.timing import duration_text, leg_seconds
from voice_trainer.procedures.setting import Setting
from voice_trainer.procedures.soundness import final_length_nm

BEGINNING_SECONDS = 12.0
"""From the fix to the descent, with the checks before it, and for levelling off (ours)."""


def fix_event(setting: Setting, ident: str) -> str:
    """The event at which a navaid or waypoint is passed. Raises KeyError for one that the approach has not."""
    return f"passage {setting.approach.navaid(ident).ident}"


def fix_words(navaid: Navaid) -> str:
    """A navaid's name, as a pattern has it."""
    return navaid.name.lower()


def passage_cue(navaid: Navaid) -> str:
    """What shows that a navaid is passed."""
    return f"Waypoint {navaid.name}." if navaid.kind == "waypoint" else "Flag flips. From."


def final_fix_event(setting: Setting) -> str:
    """The event at which the final approach fix is crossed."""
    final = setting.approach.final
    if final.fix_distance_nm is not None:
        return f"distance {final.fix_distance_nm:.1f} {final.navaid}"
    return fix_event(setting, final.fix or final.navaid)


def final_fix_cue(setting: Setting) -> str:
    """What shows that the final approach fix is crossed."""
    final = setting.approach.final
    if final.fix_distance_nm is not None:
        return f"{{distance: {final.fix_distance_nm:g}}} D M E."
    return passage_cue(setting.approach.navaid(final.fix or final.navaid))


def missed_approach_seconds(setting: Setting) -> int | None:
    """From the final approach fix to the missed approach point by time, in whole seconds; None where not by time.

    t = 3600 d / GS, to the nearest second.
    """
    point = setting.approach.final.missed_approach_point
    if point.by != "time" or point.distance_nm is None:
        return None
    final = setting.approach.final
    groundspeed = setting.corrected(final.course_degrees, setting.final_knots).groundspeed_knots
    return fix_to_missed_seconds(point.distance_nm, groundspeed)


def visual_descent_event(setting: Setting) -> str | None:
    """The event at the visual descent point; None where there is none, or where it is passed before the minimums.

    By the clock where the missed approach point is found by time (AIM 5-4-5f has it by DME), else by distance.
    """
    final = setting.approach.final
    before, point = final.visual_descent_nm, final.missed_approach_point
    if before is None or not _is_level_before(setting, before):
        return None
    groundspeed = setting.corrected(final.course_degrees, setting.final_knots).groundspeed_knots
    seconds = missed_approach_seconds(setting)
    if seconds is not None:
        return f"clock {duration_text(seconds - leg_seconds(before, groundspeed))}"
    if point.by == "distance" and point.distance_nm is not None:
        return f"distance {point.distance_nm + before:.1f} {final.navaid}"
    return None


def _is_level_before(setting: Setting, before_nm: float) -> bool:
    """Whether the last descent ends at the minimums before the point that lies so far before the missed approach point.

    A slow descent from the fix goes past it: then the runway is seen where the aeroplane is level.
    """
    final = setting.approach.final
    point = final.missed_approach_point
    if final.step_downs:
        last = final.step_downs[-1]
        feet, to_go = last.altitude_feet - final.minimums_feet, last.distance_nm
        miles = to_go - (point.distance_nm or 0.0) if point.by == "distance" else None
    else:
        feet, miles = final.altitude_feet - final.minimums_feet, final_length_nm(setting.approach)
    if miles is None:
        return True
    groundspeed = setting.corrected(final.course_degrees, setting.final_knots).groundspeed_knots
    seconds = 60.0 * feet / setting.today.profile.descent_rate_feet_per_minute + BEGINNING_SECONDS
    return seconds < leg_seconds(miles - before_nm, groundspeed)


def moved(place: tuple[float, float], degrees: float, distance_nm: float) -> tuple[float, float]:
    """The place so far away in a direction, miles east and north."""
    angle = math.radians(degrees)
    return place[0] + distance_nm * math.sin(angle), place[1] + distance_nm * math.cos(angle)


def final_fix_place(setting: Setting) -> tuple[float, float]:
    """Where the final approach fix is, miles east and north."""
    final = setting.approach.final
    if final.fix is not None:
        fix = setting.approach.navaid(final.fix)
        return fix.east_nm, fix.north_nm
    navaid = setting.approach.navaid(final.navaid)
    place = navaid.east_nm, navaid.north_nm
    if final.fix_distance_nm is None:
        return place
    return moved(place, reciprocal(final.course_degrees), final.fix_distance_nm)
