"""What there is no time for: windows that can't be met, cues longer than the time they have, calls longer than they are
listened to. In seconds of speech."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from voice_trainer.drills.length import (
    LEAST_REACTION_SECONDS,
    LONGEST_CALL_SECONDS,
    STUDENT_WORDS_PER_MINUTE,
    cue_seconds,
    flow_seconds,
    words_seconds,
)
from voice_trainer.drills.model import Drill, Step
from voice_trainer.flight.timing import duration_seconds
from voice_trainer.library.marks import Path as Place


@dataclass(frozen=True, slots=True)
class Haste:
    """Something for which there is no time: where it stands in the file, what it is, what to do."""

    place: Place
    what: str
    advice: str


def too_hasty(drill: Drill) -> Iterator[Haste]:
    """Everything in `drill` for which there is no time at normal rates of speech."""
    for index, step in enumerate(drill.steps):
        place: Place = ("steps", index)
        yield from _windows(drill, step, place)
        yield from _long_calls(drill, step, place)
    yield from _cues(drill)
    spoken = sum(cue_seconds(drill, step) + step.after_seconds for step in drill.steps)
    spoken += sum(flow_seconds(drill, step.flow) for step in drill.steps if step.flow)
    if spoken > drill.limit_seconds:
        what = f"cues and calls take {spoken:.0f} seconds, and the drill ends after {drill.limit_seconds:g}"
        place = ("limit_seconds",) if "limit_seconds" in drill.model_fields_set else ("steps",)
        yield Haste(place, what, "give a longer 'limit_seconds', or leave steps out")


def _windows(drill: Drill, step: Step, place: Place) -> Iterator[Haste]:
    begins = _clock_seconds(step.when)
    said_before = 0.0
    for number, call in enumerate(step.flow.calls if step.flow else ()):
        inner = (*place, "flow", "calls", number)
        within = call.window.within_seconds
        if call.need != "forbidden" and within < LEAST_REACTION_SECONDS:
            what = f"a call within {within:g} seconds can't be begun in time"
            yield Haste(
                (*inner, "window", "within_seconds"), what, f"give {LEAST_REACTION_SECONDS:g} at least"
            )
        closes = None if call.window.closes is None else _clock_seconds(call.window.closes)
        opens = begins if call.window.opens is None else _clock_seconds(call.window.opens)
        if closes is not None and opens is not None and call.need != "forbidden":
            strict = step.flow is not None and step.flow.order == "strict"
            needed = LEAST_REACTION_SECONDS
            if call.window.opens is None:
                needed += step.after_seconds + cue_seconds(drill, step) + (said_before if strict else 0.0)
            if closes - opens < needed:
                what = (
                    f"the window closes {closes - opens:.0f} seconds after it opens, and what comes before the "
                    f"call takes {needed:.0f} seconds at a normal rate of speech"
                )
                yield Haste((*inner, "window", "closes"), what, "let it close later")
        if call.need == "required":
            said_before += words_seconds(drill.pattern(call).brief(), STUDENT_WORDS_PER_MINUTE)


def _long_calls(drill: Drill, step: Step, place: Place) -> Iterator[Haste]:
    """Calls that take longer to say than one is listened to."""
    most_words = int(LONGEST_CALL_SECONDS * STUDENT_WORDS_PER_MINUTE / 60)
    for number, call in enumerate(step.flow.calls if step.flow else ()):
        words = len(drill.pattern(call).spoken())
        if words > most_words:
            what = (
                f"a call of {words} words is too long to be heard as one: the limit is {most_words} words, "
                f"{LONGEST_CALL_SECONDS:g} seconds at a normal rate of speech"
            )
            yield Haste((*place, "flow", "calls", number, "say"), what, "make several calls of it")


def _cues(drill: Drill) -> Iterator[Haste]:
    """Cues that still sound when a step of the same beginning or clock wants to speak."""
    timed = [
        (base[0], base[1] + step.after_seconds, index)
        for index, step in enumerate(drill.steps)
        if step.cue is not None and (base := _base(step)) is not None
    ]
    timed.sort()
    for (base_of_one, at, index), (base_of_other, then, other) in pairwise(timed):
        seconds = cue_seconds(drill, drill.steps[index])
        if base_of_one == base_of_other and at < then and seconds > then - at:
            what = (
                f"this cue takes {seconds:.0f} seconds, and that of '{drill.steps[other].step}' "
                f"begins {then - at:.0f} seconds after it"
            )
            yield Haste(("steps", index, "cue", "say"), what, "shorten it, or let the other begin later")


def _base(step: Step) -> tuple[str, float] | None:
    if step.when == "start":
        return "start", 0.0
    seconds = _clock_seconds(step.when)
    return None if seconds is None else ("clock", seconds)


def _clock_seconds(condition: str) -> float | None:
    """The reading of the panel's clock that a condition waits for, None where it waits for something else."""
    kind, _, reading = condition.partition(" ")
    return float(duration_seconds(reading)) if kind == "clock" else None
