"""The kneeboard card of a procedure: every call with where it belongs, what is said, and how it was worked out."""

from __future__ import annotations

import re
from dataclasses import dataclass

from voice_trainer.drills.model import Call, Drill, Step
from voice_trainer.flight.courses import text
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word
from voice_trainer.phraseology.slots import slot_type

CAUTIONS = (
    "Study aid only: current charts, local procedures and your instructor come first.",
    "Never use it while operating an aircraft or driving.",
    "Its numbers hold for this wind as told and a simplified aeroplane: true airspeed as indicated, a flat earth, one "
    "wind at every altitude. A chart's own table may differ by some seconds. Do not fly them.",
)


_SLOT = re.compile(r"\{(\S+): *([^}]*)\}")


@dataclass(frozen=True, slots=True)
class CardCall:
    """One call: its name, what is said with the values in figures, and why."""

    name: str
    said: str
    because: str
    required: bool


@dataclass(frozen=True, slots=True)
class CardStep:
    """One moment: its name, the event that begins it, what is seen or heard, and the calls."""

    name: str
    event: str
    cue: str
    calls: tuple[CardCall, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """All of a card. `facts` are pairs of what and how much."""

    title: str
    facts: tuple[tuple[str, str], ...]
    steps: tuple[CardStep, ...]
    cautions: tuple[str, ...] = CAUTIONS

    def explained(self, name: str) -> tuple[tuple[CardStep, CardCall], ...]:
        """Every call of that name, or of the step of that name, with its step."""
        wanted = name.lower()
        return tuple(
            (step, call)
            for step in self.steps
            for call in step.calls
            if wanted in (call.name, step.name, f"{step.name}, {call.name}")
        )


def card_of(drill: Drill) -> Card:
    """The card of a flown drill. Raises PatternError."""
    return Card(drill.title, _facts(drill), tuple(_card_step(drill, step) for step in drill.steps))


def _facts(drill: Drill) -> tuple[tuple[str, str], ...]:
    facts: list[tuple[str, str]] = []
    start = drill.aeroplane
    if start is not None:
        wind = f"{text(start.wind_from_degrees)} at {start.wind_knots:g}" if start.wind_knots else "none"
        facts += [("aeroplane", start.profile), ("wind", wind)]
    facts += [
        (navaid.name, f"{navaid.ident} {navaid.frequency}")
        for navaid in drill.navaids
        if navaid.frequency is not None
    ]
    for segment in drill.segments:
        if segment.lowest_altitude_feet is not None:
            facts.append((segment.segment, f"not below {segment.lowest_altitude_feet:,.0f}"))
    return tuple(facts)


def _card_step(drill: Drill, step: Step) -> CardStep:
    calls = step.flow.calls if step.flow else ()
    return CardStep(
        step.step,
        "" if step.when == "settled" else step.when,
        _SLOT.sub(lambda slot: _figures(slot[1], slot[2]), step.cue.say) if step.cue else "",
        tuple(_card_call(drill, call) for call in calls if call.need != "forbidden"),
    )


def _card_call(drill: Drill, call: Call) -> CardCall:
    said = in_figures(drill.pattern(call).node)
    return CardCall(call.call, said, call.because or "", call.need == "required")


def in_figures(node: Node) -> str:
    """The standard words of a pattern, its values as they are read: 'turn left heading 288'."""
    return " ".join(_read(node))


def _read(node: Node) -> list[str]:
    match node:
        case Word(text=word):
            return [word]
        case Slot(type=kind, value=value):
            if value is None:
                return ["…"]
            return [value if "/" in kind or kind == "not" else _figures(kind, value)]
        case Maybe(part=inner):
            return _read(inner)
        case Choice(options=options):
            return _read(options[0])
        case Sequence(parts=parts):
            return [word for part in parts for word in _read(part)]
    raise AssertionError(node)


def _figures(kind: str, value: str) -> str:
    if kind in ("altitude", "minimums", "height") and value.isdigit():
        return f"{int(value):,}"
    return slot_type(kind).canonical(value)
