"""The end of an approach: the runway in sight, or the missed approach to its fix and hold."""

from __future__ import annotations

from voice_trainer.drills.model import Call, Window
from voice_trainer.flight.timing import duration_text
from voice_trainer.flight.vor import Vor
from voice_trainer.procedures.approach import Hold
from voice_trainer.procedures.calls import CLOCK_SECONDS, flaps, gear, spoken
from voice_trainer.procedures.final_segment import decision_calls
from voice_trainer.procedures.hold_entry import Pattern, decide_entry, fly_entry
from voice_trainer.procedures.places import (
    final_fix_place,
    fix_event,
    fix_words,
    missed_approach_seconds,
    moved,
    passage_cue,
    visual_descent_event,
)
from voice_trainer.procedures.setting import Setting
from voice_trainer.procedures.sheet import Sheet, seconds_spoken
from voice_trainer.procedures.soundness import final_length_nm


def end_approach(setting: Setting, sheet: Sheet) -> None:
    """The last steps."""
    if setting.today.runway_in_sight:
        _see_the_runway(setting, sheet)
    else:
        _go_around(setting, sheet)


def missed_approach_event(setting: Setting) -> str:
    """The event at which the missed approach begins, when there is no runway."""
    final = setting.approach.final
    point = final.missed_approach_point
    match point.by:
        case "time":
            seconds = missed_approach_seconds(setting)
            assert seconds is not None
            return f"clock {duration_text(seconds)}"
        case "distance":
            return f"distance {point.distance_nm:.1f} {final.navaid}"
        case "passage":
            assert point.fix is not None
            return fix_event(setting, point.fix)
        case "minimums":
            return f"passing {final.minimums_feet}"


def _see_the_runway(setting: Setting, sheet: Sheet) -> None:
    approach = setting.approach
    final = approach.final
    at_decision = final.missed_approach_point.by == "minimums"
    circling = final.circling_to
    # Level at the minimums the runway may be seen earlier: no lower before the descent point (AIM 5-4-5f).
    descent_point = visual_descent_event(setting)
    words = (
        f"runway in sight circling [to] [runway] {{runway: {circling}}}"
        if circling
        else "runway in sight [continuing] landing"
    )
    sheet.step(
        "runway",
        f"passing {final.minimums_feet}" if at_decision else descent_point or "settled",
        f"{{altitude: {final.minimums_feet}}}. Runway in sight."
        if at_decision
        else "Runway in sight, twelve o'clock.",
        [
            *(decision_calls(setting) if at_decision else []),
            Call(
                call="runway",
                say=words,
                window=Window(within_seconds=6.0),
                because="The runway is in sight; it is said, and what comes of it."
                if descent_point is None
                else f"The runway is in sight, and this is the visual descent point, {final.visual_descent_nm:g} miles "
                "before the missed approach point: no lower before it (AIM 5-4-5f).",
            ),
        ],
        flow_name="decision",
        after_seconds=0.0 if at_decision or descent_point else 4.0,
    )


def _go_around(setting: Setting, sheet: Sheet) -> None:
    approach, flow = setting.approach, setting.flow
    final, missed = approach.final, approach.missed_approach
    seconds = missed_approach_seconds(setting)
    at_decision = final.missed_approach_point.by == "minimums"
    calls: list[Call] = [
        *(decision_calls(setting) if at_decision else []),
        Call(
            call="missed approach",
            say="missed approach going around" if at_decision else "missed approach [point] going around",
            does="missed",
            given={"altitude": str(missed.climb_feet)},
            window=Window(within_seconds=CLOCK_SECONDS),
            because=_why(setting, seconds),
        ),
        spoken(
            "maximum power", "power", "Power and the climb attitude come with the words (common practice)."
        ),
        Call(
            call="climb",
            say=f"climb [and maintain | to] {{altitude: {missed.climb_feet}}}",
            does="altitude",
            because=f"The missed approach climbs to {missed.climb_feet:,}.",
        ),
        *(
            [gear(False, "The gear comes up with a positive rate of climb (common practice).")]
            if setting.today.profile.retractable_gear
            else []
        ),
        flaps("up", "Once it climbs, and by steps where your handbook says so (common practice)."),
    ]
    if "missed approach" in flow.reports:
        calls.append(
            spoken(
                f"[{approach.field.tower.lower()}] {{callsign: {approach.callsign}}} missed approach",
                "talk",
                "A missed approach is reported (AIM 5-5-5).",
            )
        )
    cue = {
        "time": "" if seconds is None else seconds_spoken(seconds),
        "distance": f"{{distance: {final.missed_approach_point.distance_nm or 0:g}}} D M E.",
        "passage": passage_cue(approach.navaid(final.missed_approach_point.fix or final.navaid)),
        "minimums": f"{{altitude: {final.minimums_feet}}}. No runway.",
    }[final.missed_approach_point.by]
    event = missed_approach_event(setting)
    sheet.step("missed approach point", event, cue, calls, flow_name="missed approach")
    sheet.segment("missed approach", event)
    to = approach.navaid(missed.to)
    sheet.step(
        "turn to the fix",
        f"level {missed.climb_feet}",
        f"Level, {{altitude: {missed.climb_feet}}}.",
        [
            Call(
                call="turn",
                say=f"(turn {missed.turn} | {missed.turn} turn) direct {fix_words(to)}",
                does="direct",
                given={"fix": to.ident},
                because=f"Then a {missed.turn} turn direct {to.name}.",
            )
        ],
        flow_name="to the fix",
    )
    if missed.hold is not None:
        _hold(setting, sheet, missed.hold)


def _hold(setting: Setting, sheet: Sheet, hold: Hold) -> None:
    """The entry into the missed approach's hold, and the first time inbound."""
    fix = setting.approach.navaid(hold.fix)
    east, north = missed_approach_place(setting)
    vor = Vor(fix.ident, fix.east_nm, fix.north_nm)
    heading = setting.corrected(vor.bearing_to_degrees(east, north), setting.final_knots).heading
    pattern = Pattern(
        fix=fix,
        inbound_degrees=hold.inbound_degrees,
        turns=hold.turns,
        altitude_feet=hold.altitude_feet,
        heading_degrees=float(heading),
        airspeed_knots=setting.final_knots,
        from_feet=setting.approach.missed_approach.climb_feet,
        callsign=setting.approach.callsign,
        control=setting.approach.field.approach_control,
        heading_is_rough=True,
        label="missed hold",
    )
    decide_entry(sheet, pattern, "settled")
    established = fly_entry(setting, sheet, pattern, fix_event(setting, fix.ident))
    sheet.step(
        "missed hold inbound",
        established,
        "Needle is coming in.",
        [spoken("established [inbound]", "established", "The hold is entered: inbound to the fix.")],
        flow_name="established",
    )


def missed_approach_place(setting: Setting) -> tuple[float, float]:
    """About where the climb ends, miles east and north: past the missed approach point, along the final course."""
    final, profile = setting.approach.final, setting.today.profile
    place = final_fix_place(setting)
    length = final_length_nm(setting.approach) or 4.0
    climb = setting.approach.missed_approach.climb_feet - final.minimums_feet
    minutes = climb / profile.climb_rate_feet_per_minute
    groundspeed = setting.corrected(final.course_degrees, setting.final_knots).groundspeed_knots
    return moved(place, final.course_degrees, length + groundspeed * minutes / 60.0)


def _why(setting: Setting, seconds: int | None) -> str:
    final = setting.approach.final
    if seconds is None:
        return "This is the missed approach point: without the runway the approach ends here."
    groundspeed = setting.corrected(final.course_degrees, setting.final_knots).groundspeed_knots
    distance = final.missed_approach_point.distance_nm
    return f"{distance:g} miles at {groundspeed:.0f} knots over the ground are {duration_text(seconds)}."
