"""What a track says, as text: for each flow who leads into it, and which calls are right."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from voice_trainer.drills.conditions import OF_THE_DRILL
from voice_trainer.drills.excerpt import excerpt_of
from voice_trainer.drills.model import Drill, Step
from voice_trainer.drills.spoken_names import in_words
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


def scripts_of(items: Sequence[tuple[Drill, str]]) -> list[FlowScript]:
    """The flows of drills and steps, in order. Raises as `script_of` does."""
    found: list[FlowScript] = []
    last: tuple[Drill, str] | None = None
    for drill, step in items:
        found.append(script_of(drill, step, last[1] if last is not None and last[0] == drill else None))
        last = (drill, step)
    return found


def script_of(drill: Drill, step_name: str, after: str | None = None) -> FlowScript:
    """One flow of a drill; `after` is the step of the same drill that is right before it in the track, if any.

    Raises KeyError for a step that the drill does not have, ValueError for one without calls, PatternError.
    """
    step = drill.step_named(step_name)
    since = None if after is None else _steps_since(drill, after, step)
    if since is None:
        return script_of_excerpt(excerpt_of(drill, step_name))
    return _script(drill, step, _going_on(drill, since))


def script_of_excerpt(excerpt: Drill) -> FlowScript:
    """The flow that an excerpt (`drills/excerpt.py`) is about, by itself: which drill it is, where one is, the cue.

    Raises PatternError.
    """
    lines: list[tuple[Role, str]] = [] if excerpt.preamble is None else [("instructor", excerpt.preamble)]
    lines += [(step.cue.speaker, excerpt.spoken(step.cue)) for step in excerpt.steps if step.cue is not None]
    return _script(excerpt, excerpt.steps[-1], tuple(lines))


def _script(drill: Drill, step: Step, lead_in: tuple[tuple[Role, str], ...]) -> FlowScript:
    answers = tuple(
        RightCall(call.call, call.say, said_aloud(drill.pattern(call).spoken()))
        for call in (step.flow.calls if step.flow else ())
        if call.need == "required"
    )
    return FlowScript(drill.drill, step.step, chapter_title(drill.title, step.step), lead_in, answers)


def _going_on(drill: Drill, steps: Sequence[Step]) -> tuple[tuple[Role, str], ...]:
    """What leads into the last of `steps` for who has just heard what comes before them: the cues.

    Where there is no cue, the step is named: nothing flies in a track that would show what it waits for.
    """
    lines: list[tuple[Role, str]] = []
    for step in steps:
        if step.cue is not None:
            lines.append((step.cue.speaker, drill.spoken(step.cue)))
        elif step is steps[-1] or step.when not in OF_THE_DRILL:
            name = in_words(step.step)
            lines.append(("instructor", f"{name[:1].upper()}{name[1:]}."))
    return tuple(lines)


def _steps_since(drill: Drill, after: str, step: Step) -> Sequence[Step] | None:
    """The steps behind `after` up to `step`; None where that is not the flow before it."""
    since = drill.steps[drill.steps.index(drill.step_named(after)) + 1 : drill.steps.index(step) + 1]
    return since if since and not any(_owed(each) for each in since[:-1]) else None


def _owed(step: Step) -> bool:
    return step.flow is not None and any(call.need == "required" for call in step.flow.calls)
