"""From established inbound to the missed approach point."""

from __future__ import annotations

from voice_trainer.drills.model import Call, Window
from voice_trainer.flight.courses import text
from voice_trainer.flight.timing import duration_text
from voice_trainer.procedures.calls import (
    CLOCK_SECONDS,
    clock,
    descend,
    descend_to_minimums,
    flaps,
    gear,
    speed,
    spoken,
)
from voice_trainer.procedures.fix_checks import checks_at_a_fix
from voice_trainer.procedures.house_flow import Check
from voice_trainer.procedures.places import final_fix_cue, final_fix_event, missed_approach_seconds
from voice_trainer.procedures.setting import Setting, rounded
from voice_trainer.procedures.sheet import Sheet


def fly_final(setting: Setting, sheet: Sheet) -> None:
    """Slow and configure, cross the final approach fix, go down by steps to the minimums."""
    _configure(setting, sheet)
    _cross_final_fix(setting, sheet)
    _step_down(setting, sheet)
    _reach_minimums(setting, sheet)


def _configure(setting: Setting, sheet: Sheet) -> None:
    approach = setting.approach
    final = approach.final
    knots = rounded(setting.final_knots)
    calls: list[Call] = [
        speed("speed", knots, f"The final is flown at {knots} knots."),
        flaps("approach", "Flaps come before the final approach fix (common practice)."),
        *(
            [gear(True, "The gear is down before the final approach fix (common practice).")]
            if setting.today.profile.retractable_gear
            else []
        ),
        spoken(
            setting.flow.checklist,
            "checklist",
            "The landing checks are done before the fix (common practice).",
        ),
    ]
    if final.glidepath:
        calls.append(
            Call(
                call="glidepath",
                say="(glide path | glideslope) (armed | alive)",
                does="glidepath",
                because="The glidepath is met from below.",
            )
        )
    # From an arc or a vector the fix is near: who waits for level there may be late.
    descends = (
        final.altitude_feet < setting.until_established_feet
        and not final.glidepath
        and approach.course_reversal.kind in ("procedure turn", "teardrop", "no procedure turn")
    )
    when = f"level {final.altitude_feet}" if descends else "settled"
    cue = f"Level, {{altitude: {final.altitude_feet}}}." if descends else "Inbound."
    sheet.step("slow and configure", when, cue, calls)


def _cross_final_fix(setting: Setting, sheet: Sheet) -> None:
    approach, flow = setting.approach, setting.flow
    final = approach.final
    due: dict[Check, Call] = {}
    seconds = missed_approach_seconds(setting)
    if seconds is not None:
        due["time"] = clock(
            "time", f"The missed approach point is found by time alone: {duration_text(seconds)} from here."
        )
    lowest = final.step_downs[0].altitude_feet if final.step_downs else final.minimums_feet
    if final.glidepath:
        due["transition"] = spoken(
            f"[glide path altitude | crossing | altitude] {{altitude: {final.altitude_feet}}} checked",
            "transition",
            f"On the glidepath the fix is crossed at {final.altitude_feet:,}; another altitude means a wrong "
            "glidepath or a wrong altimeter setting.",
        )
    elif final.step_downs:
        due["transition"] = descend(
            "transition", lowest, f"From the fix down to the step-down altitude, {lowest:,}."
        )
    else:
        due["transition"] = descend_to_minimums(
            "transition", final.minimums_feet, f"From the fix down to the minimums, {final.minimums_feet:,}."
        )
    due["twist"] = Call(
        call="twist",
        say=f"[course] {{course: {text(final.course_degrees)}}} (set | checked)",
        does="course",
        because=f"The final course is {text(final.course_degrees)}.",
    )
    if "final approach fix" in flow.reports:
        retractable = setting.today.profile.retractable_gear
        due["talk"] = spoken(
            f"[{approach.field.tower.lower()}] {{callsign: {approach.callsign}}} final approach fix [inbound]"
            f"{' gear down' if retractable else ''}",
            "talk",
            "Leaving the final approach fix inbound is reported when not in radar contact (AIM 5-3-3b); the house "
            f"always does{', with the gear (CNATRA P-801 ch. 7)' if retractable else ''}.",
        )
    sheet.step(
        "final approach fix",
        final_fix_event(setting),
        final_fix_cue(setting),
        checks_at_a_fix(flow, due),
        flow_name=f"checks at the final approach fix: {flow.house_flow}",
    )
    sheet.segment(
        "final",
        final_fix_event(setting),
        # Who goes around at a decision altitude sinks a little below it; minimums that are flown level hold.
        lowest_altitude_feet=None if final.glidepath else lowest,
        course=(final.navaid, final.course_degrees),
        is_minimums=not final.glidepath and not final.step_downs,
    )


def _step_down(setting: Setting, sheet: Sheet) -> None:
    final = setting.approach.final
    for number, step in enumerate(final.step_downs):
        below = final.step_downs[number + 1].altitude_feet if number + 1 < len(final.step_downs) else None
        event = f"distance {step.distance_nm:.1f} {final.navaid}"
        because = f"{step.altitude_feet:,} holds until {step.distance_nm:g} miles."
        call = (
            descend_to_minimums("transition", final.minimums_feet, because)
            if below is None
            else descend("transition", below, because)
        )
        sheet.step(f"step-down {number + 1}", event, f"{{distance: {step.distance_nm:g}}} D M E.", [call])
        sheet.segment(
            f"below step-down {number + 1}",
            event,
            lowest_altitude_feet=final.minimums_feet if below is None else below,
            course=(final.navaid, final.course_degrees),
            is_minimums=below is None,
        )


def _reach_minimums(setting: Setting, sheet: Sheet) -> None:
    final, flow = setting.approach.final, setting.flow
    above = final.minimums_feet + flow.callout_above_minimums_feet
    words = "one hundred above" if flow.callout_above_minimums_feet == 100 else "approaching minimums"
    sheet.step(
        "above minimums",
        f"passing {above}",
        f"{{altitude: {above}}}.",
        [
            Call(
                call="approaching minimums",
                say=f"({words} | approaching minimums)",
                window=Window(within_seconds=CLOCK_SECONDS),
                because=f"{above:,} is {flow.callout_above_minimums_feet} feet above the minimums.",
            )
        ],
        flow_name="altitude callout",
    )
    if final.missed_approach_point.by == "minimums":
        return
    sheet.step(
        "minimums",
        f"level {final.minimums_feet}",
        f"{{altitude: {final.minimums_feet}}}." + ("" if setting.today.runway_in_sight else " No runway."),
        [_minimums(final.minimums_feet), *_forbidden(setting)],
    )


def _minimums(minimums_feet: int) -> Call:
    return Call(
        call="minimums",
        say="(minimums | minimum) [no runway | no contact]",
        window=Window(within_seconds=CLOCK_SECONDS),
        because=f"{minimums_feet:,} are the minimums.",
    )


def _forbidden(setting: Setting) -> list[Call]:
    """What must not be said at the minimums, before anything is seen."""
    minimums_feet = setting.approach.final.minimums_feet
    lower = Call(
        call="lower",
        say="descend [and maintain | to] {altitude}",
        need="forbidden",
        because=f"Below {minimums_feet:,} without the runway in sight, or before the visual descent point.",
    )
    runway = Call(
        call="runway", say="runway in sight", need="forbidden", because="There is no runway to be seen."
    )
    return [lower] if setting.today.runway_in_sight else [runway, lower]


def decision_calls(setting: Setting) -> list[Call]:
    """What is said at a decision altitude before anything else: nothing waits there."""
    return [_minimums(setting.approach.final.minimums_feet)]
