"""Over the fix into a holding pattern: direct, parallel or teardrop, until the aeroplane is inbound."""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.drills.model import Call, Navaid
from voice_trainer.flight.courses import Side, normalise_degrees, reciprocal, signed_difference, text
from voice_trainer.flight.holding import (
    EntrySector,
    HoldEntry,
    entry_sectors,
    hold_entry,
    inbound_leg_seconds,
    outbound_heading_by_rule,
    wind_hold,
)
from voice_trainer.flight.timing import duration_text
from voice_trainer.flight.wind import drift_correction
from voice_trainer.procedures.calls import clock, descend, set_course, spoken, track, turn
from voice_trainer.procedures.fix_checks import checks_at_a_fix
from voice_trainer.procedures.house_flow import Check
from voice_trainer.procedures.places import fix_words, passage_cue
from voice_trainer.procedures.setting import (
    SMALLEST_CORRECTION_DEGREES,
    SMALLEST_TURN_DEGREES,
    Corrected,
    Day,
    turn_side,
)
from voice_trainer.procedures.sheet import Sheet, seconds_spoken

ROUGH_DEGREES = 20.0


@dataclass(frozen=True, slots=True)
class Pattern:
    """A holding pattern and how it is reached: over which fix, on which heading, how fast and how high."""

    fix: Navaid
    inbound_degrees: float
    turns: Side
    altitude_feet: int
    heading_degrees: float
    airspeed_knots: float
    from_feet: int
    callsign: str
    control: str
    """Whom one reports to."""
    heading_is_rough: bool = False
    """Whether the heading over the fix is known to some twenty degrees only, as after a missed approach."""
    leg_nm: float | None = None
    """The length of its legs by DME, None where they are timed."""
    is_cleared: bool = False
    """Whether a controller cleared it to hold here: then reaching the fix is reported whatever the house does."""
    label: str = "hold"
    """What its steps are called by: there may be two holds in one procedure."""

    @property
    def is_told(self) -> bool:
        """Whether the entry has to be told, because another one may be flown as well."""
        nearest = min(abs(signed_difference(self.heading_degrees, s.from_degrees)) for s in self._sectors)
        return len(self.entry.accepted) > 1 or (self.heading_is_rough and nearest < ROUGH_DEGREES)

    @property
    def _sectors(self) -> tuple[EntrySector, EntrySector, EntrySector]:
        return entry_sectors(self.inbound_degrees, self.turns)

    @property
    def entry(self) -> HoldEntry:
        """The way in, by the heading over the fix. Source: AIM 5-3-8."""
        return hold_entry(self.heading_degrees, self.inbound_degrees, self.turns)

    @property
    def leg_seconds(self) -> int:
        """The inbound leg's time, and that of the first outbound leg. Source: AIM 5-3-8."""
        return round(inbound_leg_seconds(self.altitude_feet))


ENTRY_WHY = {
    "direct": "none of the sectors of the two other entries",
    "parallel": "the sector of the parallel entry",
    "teardrop": "the sector of the teardrop entry",
}


def entry_reason(pattern: Pattern) -> str:
    """Why the entry is the one it is."""
    nose = pattern.entry.outbound_from_nose_degrees
    side = "right" if nose >= 0.0 else "left"
    outbound = text(reciprocal(pattern.inbound_degrees))
    return (
        f"On heading {text(pattern.heading_degrees)} the outbound course, {outbound}, lies {abs(nose):.0f} degrees "
        f"{side} of the nose, with {pattern.turns} turns: {ENTRY_WHY[pattern.entry.entry]} (AIM 5-3-8)."
    )


def decide_entry(sheet: Sheet, pattern: Pattern, when: str) -> None:
    """The entry is named before the fix."""
    entry = pattern.entry
    asked = (
        f"At the edge of two sectors: fly the {entry.entry} entry, and name it."
        if pattern.is_told
        else "Your entry?"
    )
    sheet.step(
        f"{pattern.label} entry",
        when,
        f"{pattern.fix.name} ahead. {asked}",
        [Call(call="entry", say=f"{entry.entry} entry", because=entry_reason(pattern))],
        speaker="instructor",
    )


def fly_entry(day: Day, sheet: Sheet, pattern: Pattern, when: str) -> str:
    """The steps from the fix to the turn inbound; returns the condition at which the aeroplane is established."""
    enter_outbound(day, sheet, pattern, when)
    return turn_inbound(day, sheet, pattern)


def enter_outbound(day: Day, sheet: Sheet, pattern: Pattern, when: str) -> None:
    """The checks over the fix, and the clock outbound."""
    entry = pattern.entry
    inbound = text(pattern.inbound_degrees)
    outbound = outbound_heading(day, pattern) if entry.entry == "direct" else _entry_heading(day, pattern)
    turn_degrees = signed_difference(pattern.heading_degrees, float(outbound.heading))
    turned = abs(turn_degrees) >= SMALLEST_TURN_DEGREES or entry.entry == "direct"
    due: dict[Check, Call] = {
        "twist": set_course("twist", pattern.inbound_degrees, f"The inbound course is {inbound}."),
    }
    if turned or pattern.heading_is_rough or abs(turn_degrees) >= SMALLEST_CORRECTION_DEGREES:
        due["turn"] = turn("turn", _turn_side(pattern, outbound), outbound)
    if not turned and pattern.leg_nm is None:
        due["time"] = clock("time", "With no turn to make, the leg is timed from over the fix.")
    if pattern.altitude_feet < pattern.from_feet:
        because = f"The pattern is flown at {pattern.altitude_feet:,}."
        due["transition"] = descend("transition", pattern.altitude_feet, because)
    if pattern.is_cleared or "holding" in day.flow.reports:
        due["talk"] = spoken(
            f"[{pattern.control.lower()}] {{callsign: {pattern.callsign}}} {fix_words(pattern.fix)} [at] "
            f"{{altitude: {pattern.altitude_feet}}} holding",
            "talk",
            "Time and altitude on reaching a holding fix are reported (AIM 5-3-3a); the time of day is left out here.",
        )
    sheet.step(
        f"{pattern.label} over the fix",
        when,
        passage_cue(pattern.fix),
        checks_at_a_fix(day.flow, due),
        flow_name=f"checks: {day.flow.house_flow}",
    )
    if turned and pattern.leg_nm is None:
        start_outbound_clock(day, sheet, pattern, f"{pattern.label} outbound", by_entry=True)


def leg_end(day: Day, pattern: Pattern) -> str:
    """The event that ends the first outbound leg: by the clock, or by DME."""
    if pattern.leg_nm is not None:
        return f"distance {pattern.leg_nm:.1f} {pattern.fix.ident}"
    return f"clock {duration_text(_first_leg_seconds(day, pattern))}"


def turn_inbound(day: Day, sheet: Sheet, pattern: Pattern) -> str:
    """The turn onto the inbound course; returns the condition at which the aeroplane is established."""
    inbound = text(pattern.inbound_degrees)
    leg = _first_leg_seconds(day, pattern)
    back, side = _turn_back(pattern)
    by_dme = pattern.leg_nm
    sheet.step(
        f"{pattern.label} turn inbound",
        leg_end(day, pattern),
        seconds_spoken(leg) if by_dme is None else f"{{distance: {by_dme:g}}} D M E.",
        [
            turn("turn", side, back, _why_back(pattern, back), within_seconds=5.0),
            track("intercept", pattern.inbound_degrees, "inbound", f"The inbound course is {inbound}."),
        ],
    )
    return f"established {inbound}"


def _first_leg_seconds(day: Day, pattern: Pattern) -> int:
    """A minute by the rule; a parallel or a teardrop entry against the wind takes as long as any outbound leg.

    After a minute against it the wind would carry the aeroplane past the fix before it is on the inbound course again.
    Heading and timing are to allow for that: ICAO Doc 8168, entries (from memory).
    """
    if pattern.entry.leg_seconds is None:
        return pattern.leg_seconds
    leg = round(pattern.entry.leg_seconds)
    try:
        return max(leg, outbound_seconds(day, pattern))
    except ValueError:
        # A whole circuit can't be flown in this wind; whether this leg can, the rehearsal finds out.
        return leg


def outbound_seconds(day: Day, pattern: Pattern) -> int:
    """The outbound time, by the clock, with which the inbound leg takes its minute; to the second."""
    exact = wind_hold(
        pattern.inbound_degrees,
        pattern.turns,
        pattern.airspeed_knots,
        day.today.wind,
        float(pattern.leg_seconds),
    )
    return max(30, round(exact.timed_outbound_seconds))


def start_outbound_clock(day: Day, sheet: Sheet, pattern: Pattern, name: str, *, by_entry: bool) -> None:
    """The clock outbound: abeam the fix or wings level, whichever is last. Source: CNATRA P-765 p. 7-7.

    A parallel or a teardrop entry leaves the fix outbound, and is never abeam.
    """
    is_circuit = not by_entry or pattern.entry.entry == "direct"
    abeam_is_last = is_circuit and _blown_back(day, pattern)
    because = "The outbound leg is timed from abeam the fix or wings level, whichever is last (CNATRA P-765 p. 7-7)."
    if by_entry and pattern.entry.leg_seconds is not None:
        leg = _first_leg_seconds(day, pattern)
        if leg > pattern.entry.leg_seconds:
            takes = duration_text(leg)
            because += f" Against this wind it takes {takes}, to be inbound before the fix (ICAO Doc 8168)."
    sheet.step(
        name,
        f"abeam {pattern.fix.ident}" if abeam_is_last else "wings level",
        "Abeam the fix." if abeam_is_last else "Wings level.",
        [clock("clock", because)],
        flow_name="outbound timing",
    )


def outbound_heading(day: Day, pattern: Pattern) -> Corrected:
    """The heading of the outbound leg: three times the inbound correction, the other way. Source: AIM 5-3-8."""
    inbound = drift_correction(pattern.inbound_degrees, pattern.airspeed_knots, day.today.wind)
    course = text(reciprocal(pattern.inbound_degrees))
    heading = text(outbound_heading_by_rule(pattern.inbound_degrees, inbound.correction_degrees))
    degrees = round(inbound.correction_degrees)
    if degrees == 0:
        return Corrected(course, inbound.groundspeed_knots, f"No drift inbound, none outbound: {course}.")
    side, other = ("right", "left") if degrees > 0 else ("left", "right")
    because = (
        f"Inbound the wind asks for {abs(degrees)} degrees {side}; outbound three times as much to the {other} of "
        f"{course} (AIM 5-3-8): {heading}."
    )
    return Corrected(heading, inbound.groundspeed_knots, because)


def _entry_heading(day: Day, pattern: Pattern) -> Corrected:
    entry = pattern.entry
    course = day.outbound_heading(entry.heading_degrees, pattern.airspeed_knots)
    how = (
        "parallel to the inbound course" if entry.entry == "parallel" else "30 degrees into the holding side"
    )
    return Corrected(
        course.heading,
        course.groundspeed_knots,
        f"A {entry.entry} entry flies {how} (AIM 5-3-8). {course.because}",
    )


def _turn_side(pattern: Pattern, outbound: Corrected) -> Side:
    """The side of the turn over the fix; the wind may have put the heading of an entry on the nose's other side."""
    if pattern.entry.entry == "direct":
        return pattern.entry.turn
    return turn_side(pattern.heading_degrees, float(outbound.heading))


def _turn_back(pattern: Pattern) -> tuple[str, Side]:
    """The heading that comes back to the inbound course, and the side of the turn."""
    entry = pattern.entry
    if entry.entry == "parallel":
        cut = -45.0 if pattern.turns == "right" else 45.0
        return text(normalise_degrees(pattern.inbound_degrees + cut)), entry.turn_back
    return text(pattern.inbound_degrees), pattern.turns


def _why_back(pattern: Pattern, back: str) -> str:
    inbound = text(pattern.inbound_degrees)
    if pattern.entry.entry == "parallel":
        return f"Towards the holding side, by more than 180 degrees; {back} meets {inbound} at 45 degrees (AIM 5-3-8)."
    return f"The turn inbound is a {pattern.turns} turn, to {inbound}."


def _blown_back(day: Day, pattern: Pattern) -> bool:
    """Whether the wind carries the aeroplane back, against the outbound leg, while it turns: abeam comes last then."""
    off = abs(signed_difference(reciprocal(pattern.inbound_degrees), day.today.wind.from_degrees))
    return day.today.wind.knots > 0.0 and off < 80.0
