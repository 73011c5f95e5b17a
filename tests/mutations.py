"""Right performances of the built-in drills, each with one mistake in it, and what that mistake must come to."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

from tests.scenes import Scene, typed
from voice_trainer.drills.model import Call, Drill
from voice_trainer.journal.events import AskAgain, Settled
from voice_trainer.journal.hearing import Hearing
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.phraseology import opposites
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.nodes import Slot, slots_of
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.speaking import said_aloud

KINDS = ("drop", "swap", "value", "late", "early", "flip")
USUAL_PAUSE_SECONDS = 1.0
CLOSED_AFTER_SECONDS = 60.0

Listening = Callable[[str, Grammar, float], Hearing]


@dataclass(frozen=True)
class Said:
    """One call said; `before_step`: after all of the step before, and before its own begins."""

    step: str
    call: str
    text: str
    after_seconds: float
    before_step: bool = False


@dataclass(frozen=True)
class Mutation:
    """`lines` in their order, with one mistake made at `mistake`; what each call must come to, 'correct' unless told;
    and a part of the reason.
    """

    kind: str
    drill: str
    lines: tuple[Said, ...]
    mistake: int
    verdicts: tuple[tuple[tuple[str, str], str], ...]
    reason: str

    @property
    def named(self) -> str:
        return f"{self.kind}: {self.drill}, {self.lines[self.mistake]}"


@cache
def drill_named(name: str) -> Drill:
    return find_drill(name)


def right_lines(drill: Drill, rng: random.Random) -> tuple[Said, ...]:
    """Every required call of a drill, said right: whole or with its optional parts left out, and not always at once."""
    return tuple(
        Said(
            step.step,
            call.call,
            said_aloud(rng.choice((drill.pattern(call).spoken(), drill.pattern(call).brief()))),
            round(rng.uniform(0.3, 1.2), 1),
        )
        for step in drill.steps
        for call in (step.flow.calls if step.flow else ())
        if call.need == "required"
    )


def mutations(count: int, seed: int) -> list[Mutation]:
    """So many different mutations, as many of each kind as there are, from a fixed seed."""
    rng = random.Random(seed)
    found: dict[Mutation, None] = {}
    tries = 0
    while len(found) < count and tries < 60 * count:
        made = mutated(KINDS[tries % len(KINDS)], drill_named(rng.choice(list(builtin_drills()))), rng)
        tries += 1
        if made is not None:
            found[made] = None
    return list(found)


def mutated(kind: str, drill: Drill, rng: random.Random) -> Mutation | None:
    """A right performance with a mistake of a kind made somewhere, None where the drill has no place for it there."""
    lines = list(right_lines(drill, rng))
    at = rng.randrange(len(lines))
    line = lines[at]
    step = drill.step_named(line.step)
    assert step.flow is not None
    flow = step.flow
    call = next(each for each in flow.calls if each.call == line.call)
    here = [i for i, each in enumerate(lines) if each.step == line.step]
    verdict, reason, mistake = "correct", "", at
    key = (line.step, line.call)
    match kind:
        case "drop" if len(here) > 1:
            del lines[at]
            asks = flow.asks or flow.closing_question is not None
            verdict, reason = "missed", "Left out" if asks else "Not said."
            mistake = at if at < len(lines) and lines[at].step == line.step else at - 1
        case "swap" if at + 1 in here:
            lines[at], lines[at + 1] = lines[at + 1], lines[at]
            mistake = at + 1
            if flow.order == "strict":
                verdict, reason = "out of order", f"Said after '{lines[at].call}'"
        case "value" | "flip":
            changed = _with_another_value(drill, call, rng, opposite=kind == "flip")
            if changed is None:
                return None
            text, reason = changed
            lines[at] = replace(line, text=text)
            verdict = "wrong value"
        case "late" if at == here[0] or (not flow.asks and flow.closing_question is None):
            beyond = round(rng.uniform(0.3, max(0.4, flow.give_up_seconds - 2.0)), 1)
            lines[at] = replace(line, after_seconds=call.window.within_seconds + beyond)
            verdict, reason = "late", "Begun after"
        case "early" if at == here[0] and at > 0 and step.when not in ("settled", "start"):
            lines[at] = replace(line, before_step=True, after_seconds=round(rng.uniform(0.3, 20.0), 1))
            verdict, reason = "early", "Said before its time"
        case _:
            return None
    verdicts = () if verdict == "correct" else ((key, verdict),)
    return Mutation(kind, drill.drill, tuple(lines), mistake, verdicts, reason)


def _with_another_value(
    drill: Drill, call: Call, rng: random.Random, *, opposite: bool
) -> tuple[str, str] | None:
    """The call with one value changed, or one word for its opposite, and the reason that must be given."""
    pattern = drill.pattern(call)
    match = pattern.match(normalise(" ".join(pattern.spoken())))
    spoken = match.slots if match else {}
    slots = [
        slot
        for slot in slots_of(pattern.node)
        if slot.value is not None and slot.key in spoken and (slot.type in opposites.TYPES) == opposite
    ]
    others = [
        (slot, value) for slot in slots for value in (_opposites(slot) if opposite else near_values(slot))
    ]
    if not others:
        return None
    slot, value = rng.choice(others)
    kind = slot_type(slot.type)
    words = pattern.with_values({slot.key: value}).spoken()
    if slot.type == opposites.NOT:
        reason = "'not' was left out."
    elif opposite:
        reason = f"Said {value}; it is {slot.value}."
    else:
        reason = f"Said {kind.describe(value)}; it is {kind.describe(slot.value or '')}."
    return said_aloud(words), reason


def _opposites(slot: Slot) -> list[str]:
    if slot.type == opposites.NOT:
        return [opposites.NOT_SAID]
    words = opposites.TYPES[slot.type]
    return [
        word
        for part in slot.type.split("/")
        for word in (opposites.NAMED_SETS.get(slot.type, (part,)))
        if words.value((word,)) not in (None, words.value((slot.value or "",)))
    ]


def near_values(slot: Slot) -> list[str]:
    """The legal values that differ in one digit."""
    value, kind = slot.value or "", slot_type(slot.type)
    found = []
    for at, old in enumerate(value):
        for digit in "0123456789" if old.isdigit() else "":
            other = value[:at] + digit + value[at + 1 :]
            try:
                if other != value and kind.canonical(other) == other:
                    found.append(other)
            except ValueError:
                continue
    return found


def performed(mutation: Mutation, ears: Listening = typed) -> Scene:
    """The performance; what is heard at the mistake is `ears`' business, all else is heard without doubt. What could
    not be made out is said again, as often as the trainer asks.
    """
    drill = drill_named(mutation.drill)

    def listening(text: str, grammar: Grammar, onset_seconds: float) -> Hearing:
        return (ears if text == mutation.lines[mutation.mistake].text else typed)(
            text, grammar, onset_seconds
        )

    scene = Scene(drill, ears=listening)
    for step in drill.steps:
        own = [line for line in mutation.lines if line.step == step.step]
        for line in own:
            if line.before_step:
                _say(scene, line)
        scene.begin(step.step)
        for line in own:
            if not line.before_step:
                _say(scene, line)
        scene.wait(CLOSED_AFTER_SECONDS).tick()
    scene.end()
    return scene


def _say(scene: Scene, line: Said) -> None:
    after = line.after_seconds
    for _ in range(1 + scene.settings.most_asks):
        known = len(scene.decisions)
        scene.say(line.text, after=after)
        if not any(isinstance(d, AskAgain) for d in scene.decisions[known:]):
            return
        after = USUAL_PAUSE_SECONDS


def graded(scene: Scene) -> dict[tuple[str, str], Settled]:
    return {(v.step, v.call): v for v in scene.grade().verdicts}
