"""No course reversal: a controller's vector to the final course, read back, and the course intercepted."""

from __future__ import annotations

import math

from voice_trainer.drills.model import AeroplaneStart, Call
from voice_trainer.flight.courses import Side, normalise_degrees, reciprocal, text
from voice_trainer.flight.vor import Vor
from voice_trainer.procedures.amendment import amend, amended_segment
from voice_trainer.procedures.approach import StraightIn
from voice_trainer.procedures.calls import callsign_read_back, set_course
from voice_trainer.procedures.places import final_fix_place, moved
from voice_trainer.procedures.reversals.common import come_back, intercept_final
from voice_trainer.procedures.setting import Setting
from voice_trainer.procedures.sheet import Sheet

ARRIVAL_DEGREES = 40.0
"""How much more the aeroplane cuts the final course before the vector than on it."""

VECTOR_BEFORE_COURSE_NM = 3.0
"""How far before the final course the controller gives the vector (ours: a minute and more to get set)."""


def fly_straight_in(setting: Setting, sheet: Sheet, reversal: StraightIn) -> None:
    """From the vector to established on the final course."""
    approach = setting.approach
    course = approach.final.course_degrees
    heading = text(vector_degrees(setting, reversal))
    # Less of a cut than before: towards the final course's own direction.
    side: Side = "right" if reversal.side == "right" else "left"
    callsign, runway, title = approach.callsign, approach.field.runway, approach.spoken_title
    circling = approach.final.circling_to
    altitude = reversal.altitude_feet
    sheet.step(
        "vector",
        vector_event(setting, reversal),
        f"{{callsign: {callsign}}}, turn {side} heading {{heading: {heading}}}, maintain {{altitude: {altitude}}} "
        f"until established, cleared {title} runway {{runway: {runway}}} approach"
        f"{f', circle to runway {{runway: {circling}}}' if circling else ''}.",
        [
            Call(
                call="heading",
                say=f"[turn] {side} [heading] {{heading: {heading}}}",
                does="turn",
                ask="say the heading",
                because="Headings are read back (AIM 4-4-7b).",
            ),
            Call(
                call="altitude",
                say=f"[maintain] {{altitude: {altitude}}} [until established]",
                does="altitude",
                ask="say the altitude",
                because="Altitudes are read back (AIM 4-4-7b).",
            ),
            Call(
                call="clearance",
                say=f"cleared [for [the]] {title.lower()} "
                f"([runway {{runway: {runway}}}] approach | approach runway {{runway: {runway}}})",
                ask="confirm the clearance",
                because="The clearance for the approach is read back.",
            ),
            *_circling(circling),
            callsign_read_back(callsign),
        ],
        speaker="controller",
        flow_name="readback",
        in_any_order=True,
        asks=True,
    )
    sheet.segment("vector", vector_event(setting, reversal), lowest_altitude_feet=altitude)
    sheet.step(
        "on the vector",
        "settled",
        "On the vector.",
        [
            set_course(
                "twist", course, f"The final course, {text(course)}, is set before it is intercepted."
            ),
            intercept_final(setting),
        ],
        flow_name="intercept",
    )
    amend(setting, sheet)
    amended_segment(setting, sheet, f"needle alive {text(course)}")
    come_back(setting, sheet, f"established {text(course)}")


def _circling(runway: str | None) -> list[Call]:
    """The readback of the runway that is circled to, where there is one."""
    if runway is None:
        return []
    return [
        Call(
            call="circling",
            say=f"(circle | circling) [to] [runway] {{runway: {runway}}}",
            ask="confirm the runway that you circle to",
            because="The runway is read back (AIM 4-4-7b).",
        )
    ]


def vector_degrees(setting: Setting, reversal: StraightIn) -> float:
    """The heading that meets the final course from the aeroplane's side."""
    cut = -reversal.intercept_degrees if reversal.side == "right" else reversal.intercept_degrees
    return normalise_degrees(setting.approach.final.course_degrees + cut)


def arrival_degrees(setting: Setting, reversal: StraightIn) -> float:
    """The course before the vector."""
    more = -ARRIVAL_DEGREES if reversal.side == "right" else ARRIVAL_DEGREES
    return normalise_degrees(vector_degrees(setting, reversal) + more)


def vector_place(setting: Setting, reversal: StraightIn) -> tuple[float, float]:
    """Where the vector is given, miles east and north: on the way to the intercept of the final course."""
    course = setting.approach.final.course_degrees
    intercept = moved(final_fix_place(setting), reciprocal(course), reversal.intercept_nm)
    back = VECTOR_BEFORE_COURSE_NM / math.sin(math.radians(reversal.intercept_degrees))
    return moved(intercept, reciprocal(vector_degrees(setting, reversal)), back)


def vector_event(setting: Setting, reversal: StraightIn) -> str:
    """The event at which the controller gives the vector: a distance from the navaid of the final."""
    navaid = setting.approach.navaid(setting.approach.final.navaid)
    east, north = vector_place(setting, reversal)
    return f"distance {math.hypot(east - navaid.east_nm, north - navaid.north_nm):.1f} {navaid.ident}"


def straight_in_start(setting: Setting, reversal: StraightIn) -> AeroplaneStart:
    """Where it begins: `start.distance_nm` before the place of the vector, whatever radial the file says."""
    approach, today = setting.approach, setting.today
    arrival = arrival_degrees(setting, reversal)
    heading = setting.corrected(arrival, setting.arrival_knots)
    place = moved(vector_place(setting, reversal), reciprocal(arrival), approach.start.distance_nm)
    navaid = approach.navaid(approach.final.navaid)
    vor = Vor(navaid.ident, navaid.east_nm, navaid.north_nm)
    return AeroplaneStart(
        profile=today.profile.name,
        tuned=navaid.ident,
        distance_nm=vor.distance_nm(*place),
        radial_degrees=vor.radial_degrees(*place),
        heading_degrees=float(heading.heading),
        course_degrees=approach.final.course_degrees,
        altitude_feet=approach.start.altitude_feet,
        airspeed_knots=setting.arrival_knots,
        wind_from_degrees=normalise_degrees(today.wind.from_degrees),
        wind_knots=today.wind.knots,
    )
