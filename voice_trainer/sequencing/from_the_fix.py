"""The rest of a flown drill, once more, from a little before its last fix: 'again from the fix'.

It is a drill of its own, so that its journal stands alone: the same steps from that fix on, the same wind, and an
aeroplane that comes to the fix as it came before.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from voice_trainer.drills.conditions import is_met
from voice_trainer.drills.model import AeroplaneStart, Cue, Drill, Segment, Step
from voice_trainer.drills.navaids import navaids_of
from voice_trainer.flight.navaids import Navaid
from voice_trainer.flight.vor import Vor
from voice_trainer.flight.wind import Wind, track_made_good
from voice_trainer.journal.events import AnyDecision, AnyFact, Commanded, Flown, Position, StepBegan

LEAD_SECONDS = 25.0
"""How far before the fix the flight begins anew (ours): what the trainer says first takes ten of them."""

OPENING = "again from the fix"
FIX = "passage "

Records = Sequence[AnyFact | AnyDecision]


def last_fix(drill: Drill, begun: Iterable[str]) -> str | None:
    """The last of the steps `begun` that began as a station was passed, None where none did.

    Whoever flew the missed approach wants the fix before it, not the one at which it holds.
    """
    missed = next((i for i, step in enumerate(drill.steps) if _is_missed_approach(step)), len(drill.steps))
    passed = {step.step for step in drill.steps[:missed] if step.when.startswith(FIX)}
    begun = list(begun)
    if not passed & set(begun):
        passed = {step.step for step in drill.steps if step.when.startswith(FIX)}
    return next((step for step in reversed(begun) if step in passed), None)


def from_the_fix(drill: Drill, records: Records) -> Drill | None:
    """The drill from before the last fix that was reached in `records`; None where none was, or nothing flies."""
    start = drill.aeroplane
    fix = last_fix(drill, [r.step for r in records if isinstance(r, StepBegan)])
    if start is None or fix is None:
        return None
    at_fix = max(i for i, r in enumerate(records) if isinstance(r, StepBegan) and r.step == fix)
    before = records[:at_fix]
    positions = [r for r in before if isinstance(r, Position)]
    if not positions:
        return None
    there = positions[-1]
    known = [r.name for r in before if isinstance(r, Flown)]
    index = next(i for i, step in enumerate(drill.steps) if step.step == fix)
    say = (
        f"Again from the fix. Heading {{heading: {round(there.heading_degrees) or 360:03d}}}, "
        f"{{altitude: {round(there.altitude_feet, -2):.0f}}}, {{speed: {there.airspeed_knots:.0f}}} knots."
    )
    opening = Step(step=OPENING, when="start", cue=Cue(speaker="instructor", say=say))
    rest = (
        opening,
        *(_opened_by(step, frozenset(known)) for step in drill.steps[index:] if step.step != OPENING),
    )
    passing = max((i for i, name in enumerate(known) if is_met(drill.steps[index].when, name)), default=0)
    return drill.model_copy(
        update={
            "aeroplane": _come_to(drill, start, there, [r for r in before if isinstance(r, Commanded)]),
            "segments": _segments_left(drill.segments, known[:passing]),
            "steps": rest,
        }
    )


def _come_to(
    drill: Drill, start: AeroplaneStart, there: Position, commands: Sequence[Commanded]
) -> AeroplaneStart:
    """The aeroplane a little before the place where it was, set up and going as it was."""
    heading = max(1.0, there.heading_degrees)  # a drill counts from 001 to 360
    wind = Wind(start.wind_from_degrees, start.wind_knots)
    track = track_made_good(heading, there.airspeed_knots, wind)
    here = Vor("HERE", there.east_nm, there.north_nm)
    place = here.place(track.track_degrees + 180, track.groundspeed_knots * LEAD_SECONDS / 3600)
    navaids = navaids_of(drill)
    update: dict[str, object] = {}
    tuned = next((each for each in navaids if each.ident == start.tuned), navaids[0])
    for command in commands:
        slots = command.slots
        match command.verb:
            case "course":
                update["course_degrees"] = float(slots["course"])
            case "gear" | "flaps":
                name = "gear" if command.verb == "gear" else "flap"
                if name in slots:
                    update[command.verb] = slots[name]
            case "tune":
                tuned = next((each for each in navaids if each.is_on(slots["frequency"])), tuned)
            case "turn" | "arc":
                update |= {"direct_to": None, "tracked_course_degrees": None}
            case "track":
                update |= {"direct_to": None, "tracked_course_degrees": round(float(slots["course"]))}
            case "direct":
                tuned = next((each for each in navaids if each.is_called(slots["fix"])), tuned)
                update |= {"direct_to": tuned.ident, "tracked_course_degrees": None}
    return start.model_copy(
        update=update
        | _place_from(tuned, place)
        | {
            "heading_degrees": round(heading, 2),
            "altitude_feet": round(there.altitude_feet),
            "airspeed_knots": round(there.airspeed_knots),
        }
    )


def _place_from(tuned: Navaid, place: tuple[float, float]) -> dict[str, object]:
    return {
        "tuned": tuned.ident,
        "distance_nm": round(tuned.distance_nm(*place), 2),
        "radial_degrees": max(1.0, round(tuned.radial_degrees(*place), 2)),
    }


def _segments_left(segments: tuple[Segment, ...], known: Sequence[str]) -> tuple[Segment, ...]:
    """The segment that the events `known` have led to, from the start on, and those after it."""
    reached = 0
    for name in known:
        following = segments[reached + 1 :]
        if following and is_met(following[0].begins, name):
            reached += 1
    if not segments:
        return ()
    now = segments[reached].model_copy(update={"begins": "start"})
    return (now, *segments[reached + 1 :])


def _is_missed_approach(step: Step) -> bool:
    return step.flow is not None and any(call.does == "missed" for call in step.flow.calls)


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
