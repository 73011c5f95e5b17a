"""What somebody is asked to say: prompts from a text file, from a drill, or those of the enrolment."""

from __future__ import annotations

import random
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import yaml

from voice_trainer.drills.model import Drill
from voice_trainer.library.builtin import find_drill
from voice_trainer.library.errors import DrillError, Problem
from voice_trainer.phraseology.nodes import Slot, slots_of
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.pattern import Pattern, PatternError, compile_pattern
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.speaking import said_aloud, spoken_text

ENROLMENT = Path(__file__).parent / "enrolment.yaml"

_DRILL_ENDINGS = (".yaml", ".yml")
_TRIES = 40
"""How often another value is drawn before a slot keeps the drill's own."""


@dataclass(frozen=True, slots=True)
class Prompt:
    """Words to be said, and the drill that they are from."""

    said: str
    drill: str | None = None


def prompts_from(name: str, seed: int = 0) -> list[Prompt]:
    """The prompts of a text file, or of the drill of that name (or in that YAML file), with seeded values.

    A text file has a prompt a line; '#' begins a comment; a number is written as a slot, {heading: 095}, or in words,
    so that it is known how it is said. Raises DrillError, and PatternError for a drill's call that can't be spoken.
    """
    path = Path(name)
    if name.endswith(_DRILL_ENDINGS) or not (path.exists() or "/" in name or path.suffix):
        return drill_prompts(find_drill(name), seed)
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise DrillError(
            Problem(name, f"the prompts can't be read ({reason})", "name a text file, a prompt a line")
        ) from error
    except UnicodeDecodeError as error:
        raise DrillError(Problem(name, "the prompts are not text", "save the file as UTF-8 text")) from error
    prompts = []
    for number, line in enumerate(lines, start=1):
        text = line.partition("#")[0]
        if text.strip():
            try:
                prompts.append(Prompt(" ".join(spoken_text(text, line=number).split())))
            except PatternError as error:
                advice = "mend this line, then go on"
                raise DrillError(Problem(name, error.reason, advice, error.line, error.column)) from error
    if not prompts:
        raise DrillError(Problem(name, "there is no prompt in it", "write a prompt a line"))
    return prompts


def drill_prompts(drill: Drill, seed: int) -> list[Prompt]:
    """Every call of a drill once, in its order, its values replaced by others of the same kind.

    Raises PatternError.
    """
    chance = random.Random(seed)
    return [
        Prompt(said_aloud(_revalued(drill.pattern(call), chance).spoken()), drill.drill)
        for step in drill.steps
        for call in (step.flow.calls if step.flow else ())
    ]


def _revalued(pattern: Pattern, chance: random.Random) -> Pattern:
    return pattern.with_values({slot.key: _other_value(slot, chance) for slot in slots_of(pattern.node)})


def _other_value(slot: Slot, chance: random.Random) -> str:
    """A legal value with other digits; callsigns, and words that have opposites, stay as they are."""
    value = slot.value or ""
    if slot.type in OPPOSITES or slot.type.startswith("callsign"):
        return value
    for _ in range(_TRIES):
        drawn = "".join(chance.choice("0123456789") if each.isdigit() else each for each in value)
        try:
            if slot_type(slot.type).canonical(drawn) == drawn:
                return drawn
        except ValueError:
            pass
    return value


@dataclass(frozen=True, slots=True)
class EnrolmentPrompt:
    """A call to be read aloud; what the profile is fitted to is never what it is measured with."""

    pattern: Pattern
    fits: bool

    @property
    def said(self) -> str:
        """The words as they are shown and spoken."""
        return said_aloud(self.pattern.spoken())


@cache
def enrolment_prompts() -> tuple[EnrolmentPrompt, ...]:
    """The fixed prompts of the enrolment, the fitted and the measured ones by turns: one tires of reading."""
    halves = yaml.safe_load(ENROLMENT.read_text(encoding="utf-8"))
    fit = [EnrolmentPrompt(compile_pattern(text), True) for text in halves["fit"]]
    measure = [EnrolmentPrompt(compile_pattern(text), False) for text in halves["measure"]]
    places = [(index + 0.5) / len(fit) for index in range(len(fit))]
    places += [(index + 0.5) / len(measure) for index in range(len(measure))]
    ordered = sorted(zip(places, (*fit, *measure), strict=True), key=lambda each: each[0])
    return tuple(prompt for _, prompt in ordered)
