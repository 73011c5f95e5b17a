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
from voice_trainer.journal.verdicts import Verdict
from voice_trainer.phraseology.nodes import Slot, slots_of
from voice_trainer.phraseology.pattern import Pattern
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.speaking import said_aloud

Mistake = Literal["wrong digit", "omission", "swap", "late"]
MISTAKES: tuple[Mistake, ...] = ("wrong digit", "omission", "swap", "late")

HARDEST_TO_PLACE_FIRST: tuple[Mistake, ...] = ("swap", "late", "wrong digit", "omission")

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
    """The lines of every step that has calls, the mistakes in them, and the words of every call when it is asked
    for: the right ones, but where a value is said wrong, it is said wrong again. `right_words` are always right: what
    is said when the trainer has said it before.
    """

    lines: dict[str, tuple[Line, ...]]
    mistakes: tuple[Made, ...]
    words: dict[tuple[str, str], str]
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
    answers: dict[tuple[str, str], str] = {}
    for step, flow in _flows(drill):
        spoken: list[Line] = []
        for call in flow.calls:
            words = said_aloud(drill.pattern(call).spoken())
            answers[step.step, call.call] = words
            if call.need == "required":
                spoken.append(Line(call.call, words, pause if spoken else REACTION_SECONDS))
        lines[step.step] = spoken
    made: list[Made] = []
    taken: set[tuple[str, str]] = set()
    wanted = set(mistakes)
    for mistake in HARDEST_TO_PLACE_FIRST:
        if mistake in wanted and (places := _places(drill, mistake, taken)):
            step, calls = rng.choice(places)
            taken |= {(step.step, call) for call in calls}
            made.append(_make(drill, mistake, step, calls, lines[step.step], rng))
    right = dict(answers)
    answers |= {(step, line.call): line.text for step, said in lines.items() for line in said}
    return Performance({step: tuple(said) for step, said in lines.items()}, tuple(made), answers, right)


def _flows(drill: Drill) -> list[tuple[Step, Flow]]:
    return [(step, step.flow) for step in drill.steps if step.flow is not None]


def _places(
    drill: Drill, mistake: Mistake, taken: set[tuple[str, str]]
) -> list[tuple[Step, tuple[str, ...]]]:
    """Where a mistake can be made, away from the others: a step, and the call or calls that it is made with."""
    found: list[tuple[Step, tuple[str, ...]]] = []
    for step, flow in _flows(drill):
        calls = [call for call in flow.calls if call.need == "required"]
        free = [(step.step, call.call) not in taken for call in calls]
        names = [call.call for call in calls]
        for i, call in enumerate(calls):
            match mistake:
                case "wrong digit" if free[i] and _digit_slots(drill.pattern(call)):
                    found.append((step, (names[i],)))
                case "omission" if free[i] and len(calls) > 1:
                    found.append((step, (names[i],)))
                case "swap" if flow.order == "strict" and len(calls) > 2 and all(free[i : i + 2]):
                    if i + 1 < len(calls):
                        found.append((step, (names[i], names[i + 1])))
                case "late" if free[i] and i == 0:
                    found.append((step, (names[i],)))
                case _:
                    pass
    return found


def _make(
    drill: Drill,
    mistake: Mistake,
    step: Step,
    calls: tuple[str, ...],
    said: list[Line],
    rng: random.Random,
) -> Made:
    """Make a mistake in what is said in a step."""
    assert step.flow is not None
    index = next(i for i, line in enumerate(said) if line.call == calls[0])
    line = said[index]
    match mistake:
        case "wrong digit":
            words = _with_wrong_digit(drill.pattern(_call(step, line.call)), rng)
            said[index] = replace(line, text=said_aloud(words))
            return Made(mistake, step.step, line.call, "wrong value")
        case "omission":
            del said[index]
            if index == 0:
                said[0] = replace(said[0], after_seconds=line.after_seconds)
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


def _digit_slots(pattern: Pattern) -> list[Slot]:
    """The slots with at least three digits, in which one can be said wrong."""
    return [
        s for s in slots_of(pattern.node) if s.value is not None and sum(c.isdigit() for c in s.value) >= 3
    ]


def _with_wrong_digit(pattern: Pattern, rng: random.Random) -> tuple[str, ...]:
    """The pattern's words with one digit of one value changed, the value still a legal one."""
    slot = rng.choice(_digit_slots(pattern))
    value = slot.value or ""
    changed = [
        value[:i] + digit + value[i + 1 :]
        for i, old in enumerate(value)
        if old.isdigit()
        for digit in "0123456789"
        if digit != old and _is_legal(slot.type, value[:i] + digit + value[i + 1 :])
    ]
    return pattern.with_values({slot.key: rng.choice(changed)}).spoken()


def _is_legal(type_name: str, text: str) -> bool:
    try:
        return slot_type(type_name).canonical(text) == text
    except ValueError:
        return False
