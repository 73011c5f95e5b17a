"""The rest of a flown drill, once more, from a little before its last fix: 'again from the fix'.

It is a drill of its own, so that its journal stands alone: the same steps from that fix on, the same wind, and an
aeroplane that comes to the fix as it came before.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from voice_trainer.drills.conditions import is_met
from voice_trainer.drills.model import Cue, Drill, Step
from voice_trainer.flight.vor import Vor
from voice_trainer.flight.wind import Wind, track_made_good
from voice_trainer.journal.events import AnyDecision, AnyFact, Commanded, Flown, Position, StepBegan

LEAD_SECONDS = 25.0
"""How far before the fix the flight begins anew (ours): what the trainer says first takes ten of them."""

OPENING = "again from the fix"
FIX = "passage "


def last_fix(drill: Drill, begun: Iterable[str]) -> str | None:
    """The last of the steps `begun` that began as a station was passed, None where none did."""
    passed = {step.step for step in drill.steps if step.when.startswith(FIX)}
    return next((step for step in reversed(list(begun)) if step in passed), None)


def from_the_fix(drill: Drill, records: Sequence[AnyFact | AnyDecision]) -> Drill | None:
    """The drill from before the last fix that was reached in `records`; None where none was, or nothing flies."""
    start, station = drill.aeroplane, drill.station
    fix = last_fix(drill, [r.step for r in records if isinstance(r, StepBegan)])
    if start is None or station is None or fix is None:
        return None
    at_fix = max(i for i, r in enumerate(records) if isinstance(r, StepBegan) and r.step == fix)
    before = records[:at_fix]
    positions = [r for r in before if isinstance(r, Position)]
    if not positions:
        return None
    there = positions[-1]
    courses = [r.slots["course"] for r in before if isinstance(r, Commanded) and r.verb == "course"]
    heading = max(1.0, there.heading_degrees)  # a drill counts from 001 to 360
    wind = Wind(start.wind_from_degrees, start.wind_knots)
    track = track_made_good(heading, there.airspeed_knots, wind)
    here = Vor("HERE", there.east_nm, there.north_nm)
    place = here.place(track.track_degrees + 180, track.groundspeed_knots * LEAD_SECONDS / 3600)
    vor = Vor(station.ident)
    aeroplane = start.model_copy(
        update={
            "distance_nm": round(vor.distance_nm(*place), 2),
            "radial_degrees": max(1.0, round(vor.radial_degrees(*place), 2)),
            "heading_degrees": round(heading, 2),
            "course_degrees": float(courses[-1]) if courses else start.course_degrees,
            "altitude_feet": round(there.altitude_feet),
            "airspeed_knots": round(there.airspeed_knots),
        }
    )
    known = frozenset(r.name for r in before if isinstance(r, Flown))
    index = next(i for i, step in enumerate(drill.steps) if step.step == fix)
    say = (
        f"Again from the fix. Heading {{heading: {round(heading):03d}}}, "
        f"{{altitude: {round(there.altitude_feet, -2):.0f}}}, {{speed: {there.airspeed_knots:.0f}}} knots."
    )
    opening = Step(step=OPENING, when="start", cue=Cue(speaker="instructor", say=say))
    steps = (opening, *(_opened_by(step, known) for step in drill.steps[index:] if step.step != OPENING))
    return drill.model_copy(update={"aeroplane": aeroplane, "steps": steps})


def _opened_by(step: Step, known: frozenset[str]) -> Step:
    """A step, in which no window waits for what happened before the fix."""
    if step.flow is None:
        return step
    calls = tuple(
        call.model_copy(update={"window": call.window.model_copy(update={"opens": None})})
        if call.window.opens is not None and any(is_met(call.window.opens, name) for name in known)
        else call
        for call in step.flow.calls
    )
    return step.model_copy(update={"flow": step.flow.model_copy(update={"calls": calls})})
