"""An approach, a wind, an aeroplane and a house's flow: the drill that follows from them."""

from __future__ import annotations

from voice_trainer.drills.model import AeroplaneStart, Area, Drill
from voice_trainer.flight.courses import normalise_degrees
from voice_trainer.procedures.amendment import AMENDED
from voice_trainer.procedures.approach import (
    Approach,
    Arc,
    HoldInLieu,
    NoProcedureTurn,
    ProcedureTurn,
    StraightIn,
    Teardrop,
)
from voice_trainer.procedures.final_segment import fly_final
from voice_trainer.procedures.house_flow import HouseFlow
from voice_trainer.procedures.lead_ins import with_lead_ins
from voice_trainer.procedures.missed_approach import end_approach
from voice_trainer.procedures.opening import open_approach
from voice_trainer.procedures.reversals.arc import fly_arc
from voice_trainer.procedures.reversals.hold_in_lieu import fly_hold_in_lieu
from voice_trainer.procedures.reversals.no_procedure_turn import fly_from_initial_fix
from voice_trainer.procedures.reversals.procedure_turn import fly_procedure_turn
from voice_trainer.procedures.reversals.straight_in import fly_straight_in, straight_in_start
from voice_trainer.procedures.reversals.teardrop import fly_teardrop
from voice_trainer.procedures.setting import Setting
from voice_trainer.procedures.sheet import Sheet
from voice_trainer.procedures.today import Today

LIMIT_SECONDS = 2400.0
SYNONYMS: dict[str, tuple[str, ...]] = {
    "turn": ("turning", "coming"),
    "descend": ("descending",),
    "climb": ("climbing",),
    "turn not required": ("no turn", "turn negative"),
    "time not required": ("no time", "time negative"),
}


def drill_of(approach: Approach, today: Today, flow: HouseFlow) -> Drill:
    """The drill. Raises WindError for a wind in which a course of the approach can't be kept."""
    setting = Setting(today, flow, approach)
    sheet = Sheet()
    open_approach(setting, sheet)
    match approach.course_reversal:
        case ProcedureTurn() as reversal:
            fly_procedure_turn(setting, sheet, reversal)
        case Teardrop() as reversal:
            fly_teardrop(setting, sheet, reversal)
        case HoldInLieu() as reversal:
            fly_hold_in_lieu(setting, sheet, reversal)
        case Arc() as reversal:
            fly_arc(setting, sheet, reversal)
        case StraightIn() as reversal:
            fly_straight_in(setting, sheet, reversal)
        case NoProcedureTurn():
            fly_from_initial_fix(setting, sheet)
    fly_final(setting, sheet)
    end_approach(setting, sheet)
    return Drill(
        drill=approach.approach,
        spoken_name=approach.spoken_name,
        difficulty="third",
        title=approach.title,
        kind="procedure",
        trains="an approach as it will be flown: the checks at every fix, headings, times, descents, reports, minimums",
        region=approach.region,
        minutes=15,
        sources=(*approach.sources, f"order of the checks: {flow.title} ({flow.source})"),
        callsign=approach.callsign,
        pronounce=approach.pronounce,
        synonyms=SYNONYMS,
        navaids=approach.navaids,
        aeroplane=_start(setting),
        segments=tuple(sheet.segments),
        area=_area(setting),
        limit_seconds=LIMIT_SECONDS,
        steps=with_lead_ins(setting, sheet.steps),
    )


def _start(setting: Setting) -> AeroplaneStart:
    approach, today = setting.approach, setting.today
    if isinstance(approach.course_reversal, StraightIn):
        return straight_in_start(setting, approach.course_reversal)
    start = approach.start
    heading = setting.corrected(setting.arrival_course_degrees, setting.arrival_knots)
    return AeroplaneStart(
        profile=today.profile.name,
        tuned=approach.initial_fix,
        direct_to=approach.initial_fix,
        distance_nm=start.distance_nm,
        radial_degrees=start.radial_degrees,
        heading_degrees=float(heading.heading),
        course_degrees=setting.arrival_course_degrees,
        altitude_feet=start.altitude_feet,
        airspeed_knots=setting.arrival_knots,
        wind_from_degrees=normalise_degrees(today.wind.from_degrees),
        wind_knots=today.wind.knots,
    )


def _area(setting: Setting) -> Area | None:
    approach = setting.approach
    reversal = approach.course_reversal
    if isinstance(reversal, Arc | StraightIn | NoProcedureTurn):
        return None
    return Area(
        navaid=approach.initial_fix,
        limit_nm=reversal.limit_nm,
        segments=("outbound", "hold", AMENDED, "inbound"),
    )
