"""How a synthetic student will perform a drill: what they say after each cue, and the mistakes they make.

The performance is worked out before the drill begins, from the drill and a seed. It is text and timing only;
`student` turns it into sound.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from voice_trainer.drills.model import Call, Drill, Flow, Step
from voice_trainer.journal.events import Verdict
from voice_trainer.phraseology.pattern import Pattern
from voice_trainer.phraseology.slots import slot_type

Mistake = Literal["wrong digit", "omission", "swap", "late"]
MISTAKES: tuple[Mistake, ...] = ("wrong digit", "omission", "swap", "late")

LATE_BY_SECONDS = 2.5
"""How far past its window a late call is begun: clearly late, and well before the trainer gives up."""

REACTION_SECONDS = 0.7
PAUSE_SECONDS = 1.0
BREATH_SECONDS = 0.3


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to say: a call's words, `after_seconds` of silence after the cue or the line before."""

    call: str
    text: str
    after_seconds: float


@dataclass(frozen=True, slots=True)
class Made:
    """A mistake that the performance contains, and the verdict that it deserves."""

    mistake: Mistake
    step: str
    call: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Performance:
    """The lines of every step that has calls, the mistakes in them, and the right words of every call."""

    lines: dict[str, tuple[Line, ...]]
    mistakes: tuple[Made, ...]
    right_words: dict[tuple[str, str], str]


def perform(
    drill: Drill, *, seed: int = 0, mistakes: Iterable[Mistake] = (), one_breath: bool = False
) -> Performance:
    """A performance of `drill` with one mistake of each wanted kind, where the drill has a place for it.

    With `one_breath` a step's calls follow each other so closely that they are one utterance. Raises
    PatternError.
    """
    rng = random.Random(seed)
    pause = BREATH_SECONDS if one_breath else PAUSE_SECONDS
    lines: dict[str, list[Line]] = {}
    right: dict[tuple[str, str], str] = {}
    for step, flow in _flows(drill):
        spoken = []
        for call in flow.calls:
            words = " ".join(drill.pattern(call).spoken())
            right[step.step, call.call] = words
            if call.need == "required":
                spoken.append(Line(call.call, words, pause if spoken else REACTION_SECONDS))
        lines[step.step] = spoken
    made: list[Made] = []
    for mistake in mistakes:
        taken = {(m.step, m.call) for m in made}
        places = _places(drill, mistake, taken)
        if places:
            step, index = rng.choice(places)
            made.append(_make(drill, mistake, step, index, lines[step.step], rng))
    return Performance({step: tuple(said) for step, said in lines.items()}, tuple(made), right)


def _flows(drill: Drill) -> list[tuple[Step, Flow]]:
    return [(step, step.flow) for step in drill.steps if step.flow is not None]


def _places(drill: Drill, mistake: Mistake, taken: set[tuple[str, str]]) -> list[tuple[Step, int]]:
    """Where a mistake can be made: the step and the place among its required calls, away from other mistakes."""
    found = []
    for step, flow in _flows(drill):
        calls = [call for call in flow.calls if call.need == "required"]
        free = [(step.step, call.call) not in taken for call in calls]
        untouched = all(free)
        for i, call in enumerate(calls):
            fits = {
                "wrong digit": free[i] and _digit_slots(drill.pattern(call)) != [],
                "omission": free[i] and len(calls) > 1 and untouched,
                "swap": untouched and flow.order == "strict" and i + 1 < len(calls) and len(calls) > 2,
                "late": untouched and i == 0,
            }[mistake]
            if fits:
                found.append((step, i))
    return found


def _make(
    drill: Drill, mistake: Mistake, step: Step, index: int, said: list[Line], rng: random.Random
) -> Made:
    line = said[index]
    match mistake:
        case "wrong digit":
            said[index] = replace(
                line, text=" ".join(_with_wrong_digit(drill.pattern(_call(step, line.call)), rng))
            )
            return Made(mistake, step.step, line.call, "wrong value")
        case "omission":
            del said[index]
            if index == 0:
                said[0] = replace(said[0], after_seconds=REACTION_SECONDS)
            assert step.flow is not None
            return Made(mistake, step.step, line.call, "incomplete" if step.flow.asks else "missed")
        case "swap":
            after = said[index + 1]
            said[index] = replace(after, after_seconds=line.after_seconds)
            said[index + 1] = replace(line, after_seconds=after.after_seconds)
            return Made(mistake, step.step, line.call, "out of order")
        case "late":
            within = _call(step, line.call).window.within_seconds
            said[index] = replace(line, after_seconds=within + LATE_BY_SECONDS)
            return Made(mistake, step.step, line.call, "late")


def _call(step: Step, name: str) -> Call:
    assert step.flow is not None
    return next(call for call in step.flow.calls if call.call == name)


def _digit_slots(pattern: Pattern) -> list[str]:
    """The slots with at least three digits, in which one can be said wrong."""
    return [key for key, value in pattern.expected.items() if sum(c.isdigit() for c in value) >= 3]


def _with_wrong_digit(pattern: Pattern, rng: random.Random) -> tuple[str, ...]:
    """The pattern's words with one digit of one value changed, the value still a legal one."""
    key = rng.choice(_digit_slots(pattern))
    value = pattern.expected[key]
    kind = slot_type(key.rstrip(" 23456789"))
    changed = [
        value[:i] + digit + value[i + 1 :]
        for i, old in enumerate(value)
        if old.isdigit()
        for digit in "0123456789"
        if digit != old and _is_legal(kind.canonical, value[:i] + digit + value[i + 1 :])
    ]
    return pattern.with_values({key: rng.choice(changed)}).spoken()


def _is_legal(canonical: object, text: str) -> bool:
    try:
        return callable(canonical) and canonical(text) == text
    except ValueError:
        return False
