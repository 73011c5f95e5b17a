"""What the trainer can say in a drill, as far as it is known beforehand, in the order in which it may be needed."""

from __future__ import annotations

from voice_trainer.drills.model import Drill
from voice_trainer.sequencing.answers import FIXED_LINES
from voice_trainer.voices.casting import Role


def cues_of(drill: Drill) -> list[tuple[Role, str]]:
    """Speaker and text of every cue, then of the questions that may follow. Raises PatternError."""
    lines: list[tuple[Role, str]] = [("instructor", drill.preamble)] if drill.preamble else []
    lines += [(step.cue.speaker, drill.spoken(step.cue)) for step in drill.steps if step.cue is not None]
    lines += [("instructor", text) for text in FIXED_LINES]
    for step in drill.steps:
        if step.flow and step.flow.closing_question is not None:
            lines.append((step.cue.speaker if step.cue else "instructor", step.flow.closing_question))
        for call in step.flow.calls if step.flow else ():
            if call.ask and step.cue:
                lines.append((step.cue.speaker, call.ask))
    return lines
