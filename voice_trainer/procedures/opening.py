"""How a flown approach begins: where the aeroplane is, the set-up and brief, and slowing down before the fix."""

from __future__ import annotations

from collections.abc import Mapping

from voice_trainer.drills.model import Call, Navaid, Verb, Window
from voice_trainer.flight.courses import text
from voice_trainer.flight.timing import duration_text
from voice_trainer.procedures.approach import Approach, Arc, HoldInLieu, NoProcedureTurn, StraightIn
from voice_trainer.procedures.calls import altimeter_setting, speed
from voice_trainer.procedures.places import fix_event, fix_words, missed_approach_seconds
from voice_trainer.procedures.reversals.hold_in_lieu import decide_on_entry
from voice_trainer.procedures.reversals.no_procedure_turn import fly_feeder
from voice_trainer.procedures.reversals.straight_in import straight_in_start
from voice_trainer.procedures.setting import TIME_TOLERANCE_SECONDS, Setting, rounded
from voice_trainer.procedures.sheet import Sheet

BRIEF_SECONDS = 30.0
CLOSING_QUESTION = "Anything else?"

REVERSAL_WORDS = {"procedure turn": "procedure turn", "teardrop": "teardrop", "hold in lieu": "holding"}
"""Those that have an altitude of their own, and what they are called in a brief."""


def open_approach(setting: Setting, sheet: Sheet) -> None:
    """The first steps, up to the initial fix."""
    approach, today = setting.approach, setting.today
    start = approach.start
    wind = (
        f"wind {{wind: {text(today.wind.from_degrees)}/{rounded(today.wind.knots)}}}"
        if today.wind.knots
        else "no wind"
    )
    by_vector = isinstance(approach.course_reversal, StraightIn)
    told = f"{approach.spoken_title} runway {{runway: {approach.field.runway}}} approach"
    circling = (
        f", circle to runway {{runway: {approach.final.circling_to}}}" if approach.final.circling_to else ""
    )
    pressure, inches = altimeter_setting(approach.region, today.altimeter_inches)
    sheet.step(
        "set-up and brief",
        "start",
        f"You are {_where(setting)}, "
        f"{{altitude: {start.altitude_feet}}}, {{speed: {rounded(setting.arrival_knots)}}} knots, {wind}. "
        f"{approach.field.name} {pressure} {inches}. "
        f"{f'Expect a vector to the {told}' if by_vector else f'Cleared for the {told}'}{circling}. "
        f"{approach.field.tower} from the final approach fix on. Set up and brief.",
        brief_items(setting),
        speaker="instructor",
        flow_name="set-up and brief",
        in_any_order=True,
        closing_question=CLOSING_QUESTION,
        give_up_seconds=20.0,
    )
    sheet.segment("to the initial fix", "start", lowest_altitude_feet=_lowest_before(approach))
    if isinstance(approach.course_reversal, StraightIn | Arc):
        return
    if isinstance(approach.course_reversal, NoProcedureTurn):
        fly_feeder(setting, sheet, approach.course_reversal)
    if isinstance(approach.course_reversal, HoldInLieu):
        decide_on_entry(setting, sheet, approach.course_reversal)
    if setting.procedure_knots < setting.arrival_knots:
        slow_down(setting, sheet)


def _where(setting: Setting) -> str:
    """How far from where the aeroplane begins, and its heading; before a vector not on the way to any fix."""
    approach = setting.approach
    if isinstance(approach.course_reversal, StraightIn):
        begins = straight_in_start(setting, approach.course_reversal)
        miles, heading = f"{begins.distance_nm:.0f}", text(begins.heading_degrees)
        name = approach.navaid(approach.final.navaid).name
    else:
        miles, name = f"{approach.start.distance_nm:g}", setting.initial_fix.name
        heading = setting.corrected(setting.arrival_course_degrees, setting.arrival_knots).heading
    return f"{{distance: {miles}}} miles from {name}, heading {{heading: {heading}}}"


def slow_down(setting: Setting, sheet: Sheet) -> None:
    """The last moment to slow for the procedure; it may be done before."""
    within = setting.flow.slow_within_nm
    fix = setting.initial_fix
    knots = rounded(setting.procedure_knots)
    because = (
        f"The course reversal is flown at {knots} knots; 200 are the most from the fix on (AIM 5-4-9a3)."
    )
    if isinstance(setting.approach.course_reversal, NoProcedureTurn):
        because = f"From the initial fix on it is flown at {knots} knots."
    sheet.step(
        "close to the fix",
        f"distance {within:.1f} {fix.ident}",
        f"{{distance: {within:g}}} miles to {fix.name}.",
        [
            speed(
                "speed",
                knots,
                because,
                Window(opens=f"distance {within + 2:.1f} {fix.ident}", closes=fix_event(setting, fix.ident)),
            )
        ],
        speaker="instructor",
        flow_name="slow for the procedure",
    )


def brief_items(setting: Setting) -> list[Call]:
    """What is set and said before the approach, in whatever order."""
    approach, flow, final = setting.approach, setting.flow, setting.approach.final
    reversal, missed = approach.course_reversal, approach.missed_approach
    pressure, inches = altimeter_setting(approach.region, setting.today.altimeter_inches)
    items = [
        _item(
            "altimeter",
            f"[{approach.field.name.lower()}] {pressure.lower()} {inches} [set]",
            "Minimums are worth what the altimeter setting is worth (common practice).",
        ),
        _guidance(approach.navaid(final.navaid)),
        _item(
            "final course",
            f"final [approach] course {{course: {text(final.course_degrees)}}}",
            f"The final course is {text(final.course_degrees)}.",
        ),
    ]
    if final.circling_to is not None:
        items.append(
            _item(
                "circling",
                f"circling [to] [runway] {{runway: {final.circling_to}}}",
                f"The runway of the landing, {final.circling_to}, is not the one that it leads to.",
            )
        )
    if reversal.kind in REVERSAL_WORDS:
        items.append(
            _item(
                "reversal altitude",
                f"{REVERSAL_WORDS[reversal.kind]} [altitude | at] {{altitude: {reversal.altitude_feet}}}",
                f"The course reversal is flown at {reversal.altitude_feet:,}.",
            )
        )
    alert = final.minimums_feet + flow.alert_above_minimums_feet
    above = f", {flow.alert_above_minimums_feet} above the minimums" if flow.alert_above_minimums_feet else ""
    items += [
        _item(
            "minimums",
            f"(minimums | minimum) {{minimums: {final.minimums_feet}}}",
            f"The minimums are {final.minimums_feet:,}.",
        ),
        _item(
            "alert",
            f"set [the] [altitude | minimums] alert {{minimums: {alert}}}",
            f"The house sets the alert at {alert:,}{above}.",
            does="minimums alert",
        ),
    ]
    seconds = missed_approach_seconds(setting)
    if seconds is not None:
        groundspeed = setting.corrected(final.course_degrees, setting.final_knots).groundspeed_knots
        items.append(
            _item(
                "timing",
                f"(timing | time) [to the missed approach point] {{duration: {duration_text(seconds)}}}",
                f"{final.missed_approach_point.distance_nm:g} miles at {groundspeed:.0f} knots over the ground: "
                f"{duration_text(seconds)}.",
                within={"duration": TIME_TOLERANCE_SECONDS},
            )
        )
    to = approach.navaid(missed.to)
    items += [
        _item(
            "missed approach",
            f"missed approach [climb to] {{altitude: {missed.climb_feet}}}",
            f"The missed approach climbs to {missed.climb_feet:,}.",
        ),
        _item(
            "missed turn",
            f"[then] [a] {missed.turn} turn direct {fix_words(to)}{' [and] [hold]' if missed.hold else ''}",
            f"Then a {missed.turn} turn direct {to.name}: a missed approach is briefed to its end.",
        ),
    ]
    return items


def _guidance(navaid: Navaid) -> Call:
    """What the final is flown by: tuned, or loaded."""
    if navaid.frequency is None:
        return _item(
            "loaded",
            "approach loaded [and] checked",
            "It comes from the database by its name; its waypoints, courses and altitudes are checked against the "
            "chart (AIM 1-1-17, from memory).",
        )
    return _item(
        "frequency",
        f"[tune] {fix_words(navaid)} {{frequency: {navaid.frequency}}} [identified]",
        f"{navaid.name} is on {navaid.frequency}.",
        does="tune",
    )


def _item(
    name: str, say: str, because: str, *, does: Verb | None = None, within: Mapping[str, float] | None = None
) -> Call:
    return Call(
        call=name,
        say=say,
        does=does,
        within=dict(within or {}),
        window=Window(within_seconds=BRIEF_SECONDS),
        because=because,
    )


def _lowest_before(approach: Approach) -> float:
    return min(approach.start.altitude_feet, approach.course_reversal.altitude_feet)
