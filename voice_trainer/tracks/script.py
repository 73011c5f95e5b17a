"""What a track says, as text: for each flow who leads into it, and which calls are right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from voice_trainer.drills.model import Drill, Step
from voice_trainer.logbook.items import lead_in
from voice_trainer.phraseology.speaking import said_aloud
from voice_trainer.tracks.titles import chapter_title
from voice_trainer.voices.casting import Role

CAUTION = (
    "Study aid only. Current charts, local procedures and your instructor come first. "
    "Listen as a passenger, or at home. Never while you drive, and never while you fly. "
    "All places and numbers are invented."
)
"""Inside every track: a file is copied, and heard where nothing that was printed with it is at hand."""

CAUTION_CHAPTER = "Caution"


@dataclass(frozen=True, slots=True)
class RightCall:
    """A call that is owed: its name, its pattern as in the drill, its words as a voice is given them."""

    call: str
    pattern: str
    text: str


@dataclass(frozen=True, slots=True)
class FlowScript:
    """One flow: `lead_in` is who says what before the gap, `answers` what is right, in order."""

    drill: str
    step: str
    chapter: str
    lead_in: tuple[tuple[Role, str], ...]
    answers: tuple[RightCall, ...]

    @property
    def lines(self) -> Iterator[tuple[Role, str]]:
        """All that is to be spoken, in order."""
        yield from self.lead_in
        for each in self.answers:
            yield "student", each.text


def flow_names(drill: Drill) -> tuple[str, ...]:
    """The steps of a drill that can be in a track: those that owe a call, in order."""
    return tuple(step.step for step in drill.steps if _owed(step))


def script_of(drill: Drill, step_name: str) -> FlowScript:
    """One flow of a drill. Raises KeyError for a step that the drill does not have, PatternError."""
    step = drill.step_named(step_name)
    calls = tuple(
        RightCall(call.call, call.say, said_aloud(drill.pattern(call).spoken()))
        for call in (step.flow.calls if step.flow else ())
        if call.need == "required"
    )
    return FlowScript(
        drill.drill, step.step, chapter_title(drill.title, step.step), _leading(drill, step), calls
    )


def _leading(drill: Drill, step: Step) -> tuple[tuple[Role, str], ...]:
    """What is generic is said to be, then the cues since the flow before, each in its speaker's voice."""
    lines: list[tuple[Role, str]] = []
    if drill.preamble is not None:
        lines.append(("instructor", drill.preamble))
    at = drill.steps.index(step)
    first = at
    while first > 0 and not _owed(drill.steps[first - 1]):
        first -= 1
    cues = [each.cue for each in drill.steps[first : at + 1] if each.cue is not None]
    lines += [(cue.speaker, drill.spoken(cue)) for cue in cues]
    return tuple(lines) if cues else (*lines, ("instructor", lead_in(drill, step)))


def _owed(step: Step) -> bool:
    return step.flow is not None and any(call.need == "required" for call in step.flow.calls)
