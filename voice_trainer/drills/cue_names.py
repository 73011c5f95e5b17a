"""The names of what the trainer says besides a step's own cue, which goes by the step's name.

The end of a question, of a repeated cue or of a call that is read along gives the student a new start: the time
of the step's next call runs from there.
"""

from __future__ import annotations

PREAMBLE = "before the drill: preamble"
"""With this the trainer says what holds for the whole drill."""

_ABOUT_A_STEP = ("question: ", "again: ", "read along: ")


def question_about(step: str) -> str:
    """With this the trainer asks for something again, or for what was left out."""
    return f"question: {step}"


def repeated(cue: str) -> str:
    """With this a cue is said once more."""
    return cue if cue.startswith("again: ") else f"again: {cue}"


def read_along(step: str) -> str:
    """With this the trainer says a call before the student does."""
    return f"read along: {step}"


def step_that_starts_anew(cue: str) -> str | None:
    """The step whose next call is timed from the end of `cue`, None where there is none."""
    name = cue
    while (prefix := next((p for p in _ABOUT_A_STEP if name.startswith(p)), None)) is not None:
        name = name.removeprefix(prefix)
    return None if name == cue else name
