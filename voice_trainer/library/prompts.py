"""What somebody is asked to say: prompts from a text file, from a drill, or those of the enrolment."""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import yaml

from voice_trainer.drills.model import Drill
from voice_trainer.library.builtin import everything, find_drill
from voice_trainer.library.drill_files import LONGEST_TEXT
from voice_trainer.library.errors import DrillError, Problem
from voice_trainer.library.packs import NO_PACKS, Packs
from voice_trainer.library.reading import content_of
from voice_trainer.library.strict_yaml import MOST_BYTES
from voice_trainer.phraseology.nodes import Slot, slots_of
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.pattern import Pattern, PatternError, compile_pattern
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.speaking import said_aloud, spoken_text

ENROLMENT = Path(__file__).parent / "enrolment.yaml"

_DRILL_ENDINGS = (".yaml", ".yml")
_TRIES = 40
"""How often another value is drawn before a slot keeps the drill's own."""

_STEPS = (1000, 500, 100, 50, 10, 5)
"""Values are said in round numbers: an altitude in hundreds, a heading from radar in fives or tens."""

_TURNS_AND_CODES = frozenset(
    (
        *("heading", "course", "radial", "bearing", "runway", "squawk", "frequency", "altimeter", "qnh"),
        *("time", "letter", "letters", "airway", "fix"),
    )
)
"""Types of which one value is as good as another; of all others half and twice the drill's are still plausible."""

_SLOTS = re.compile(r"(\{[^{}]*\})")
_STOPS = re.compile(r"[,.;:?!…–—-]")
_DIGITS = re.compile(r"[0-9]+")


@dataclass(frozen=True, slots=True)
class Prompt:
    """Words to be said, and the drill that they are from.

    `pattern` is the call that they are, with its values; None for a text file's line that is no pattern.
    """

    said: str
    drill: str | None = None
    pattern: Pattern | None = None


def prompts_from(name: str, seed: int = 0, packs: Packs = NO_PACKS) -> list[Prompt]:
    """The prompts of a text file, or of the drill of that name (or in that YAML file), with seeded values.

    A text file has a prompt a line; '#' begins a comment; a number is written as a slot, {heading: 095}, or in words,
    so that it is known how it is said. Raises DrillError, and PatternError for a drill's call that can't be spoken.
    """
    path = Path(name)
    is_file = path.exists() or "/" in name or path.suffix
    if name.endswith(_DRILL_ENDINGS) or not is_file or name in everything(packs):
        return drill_prompts(find_drill(name, seed, packs=packs), seed)
    content = content_of(path, name or "''", "name a text file, a prompt a line")
    if len(content) > MOST_BYTES:
        what = f"larger than {MOST_BYTES // 1024} KiB, more than anybody reads aloud"
        raise DrillError(Problem(name, what, "split it into several files"))
    try:
        lines = content.decode("utf-8-sig").splitlines()
    except UnicodeDecodeError as error:
        raise DrillError(Problem(name, "the prompts are not text", "save the file as UTF-8 text")) from error
    prompts = []
    for number, line in enumerate(lines, start=1):
        text = line.partition("#")[0]
        if len(text) > LONGEST_TEXT:
            what = f"a prompt of more than {LONGEST_TEXT} characters"
            raise DrillError(Problem(name, what, "write a prompt a line", number, 1))
        if text.strip():
            try:
                said = " ".join(spoken_text(text, line=number).split())
                prompts.append(Prompt(said, pattern=_pattern_of(text)))
            except PatternError as error:
                advice = "mend this line, then go on"
                raise DrillError(Problem(name, error.reason, advice, error.line, error.column)) from error
    if not prompts:
        raise DrillError(Problem(name, "there is no prompt in it", "write a prompt a line"))
    return prompts


def drill_prompts(drill: Drill, seed: int) -> list[Prompt]:
    """Every call of a drill once, except what must not be said, its values replaced by others of the same kind.

    Raises PatternError.
    """
    chance = random.Random(seed)
    every = [call for step in drill.steps for call in (step.flow.calls if step.flow else ())]
    calls = [call for call in every if call.need != "forbidden"]
    patterns = [_revalued(drill.pattern(call), chance) for call in calls]
    return [Prompt(said_aloud(pattern.spoken()), drill.drill, pattern) for pattern in patterns]


def _pattern_of(text: str) -> Pattern | None:
    """A line of a text file as a pattern: what is read, so without its stops; None where it is none."""
    try:
        return compile_pattern(" ".join(_outside_slots(text).split()))
    except PatternError:
        return None


def _outside_slots(text: str) -> str:
    return "".join(part if part.startswith("{") else _STOPS.sub(" ", part) for part in _SLOTS.split(text))


def _revalued(pattern: Pattern, chance: random.Random) -> Pattern:
    slots = [slot for slot in slots_of(pattern.node) if slot.value is not None]
    return pattern.with_values({slot.key: _other_value(slot, chance) for slot in slots})


def _other_value(slot: Slot, chance: random.Random) -> str:
    """A legal value with other digits, as round and of the same size; callsigns, and words that have opposites,
    stay as they are.
    """
    value = slot.value or ""
    label = slot_type(slot.type).label
    if slot.type in OPPOSITES or label == "callsign":
        return value

    def other(found: re.Match[str]) -> str:
        # Of a wind the direction comes first, and may be any.
        free = label in _TURNS_AND_CODES or (label == "wind" and found.start() == 0)
        return _other_number(found[0], chance, free=free)

    for _ in range(_TRIES):
        drawn = _DIGITS.sub(other, value)
        try:
            if drawn != value and slot_type(slot.type).canonical(drawn) == drawn:
                return drawn
        except ValueError:
            pass
    return value


def _other_number(digits: str, chance: random.Random, *, free: bool) -> str:
    """Another number of as many digits and as round as this one; unless `free`, from half to twice of it."""
    number = int(digits)
    step = next((step for step in _STEPS if number and number % step == 0), 1)
    lowest, highest = 0, 10 ** len(digits) - 1
    if not free:
        lowest = max(number // 2, 0 if digits[0] == "0" else 10 ** (len(digits) - 1))
        highest = min(number * 2, highest)
    return f"{step * chance.randint(-(-lowest // step), highest // step):0{len(digits)}d}"


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
