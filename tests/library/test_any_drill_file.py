"""Whatever is in a drill file, it is read or refused in one clear line a fault: no traceback, no hang.

Half of the inputs are real drills with something done to them, the other half grow from the signs and words that mean
something to the YAML reader, to patterns and to expressions. The fuzz is seeded, so that what it finds can be had
again: `Inputs(number)` is the input that a failure names.
"""

from __future__ import annotations

import random
import re
import time

import pytest

from voice_trainer.drills.expressions import Expression, ExpressionError
from voice_trainer.drills.functions import FUNCTIONS
from voice_trainer.library.builtin import builtin_drills
from voice_trainer.library.drill_files import read_drill
from voice_trainer.library.errors import DrillError
from voice_trainer.phraseology.pattern import PatternError, compile_pattern
from voice_trainer.phraseology.slots import slot_type_names
from voice_trainer.phraseology.speaking import spoken_text

SLOWEST_SECONDS = 10.0
"""Of processor time, for one input. The slowest legal drill takes about two on one core that it shares."""

DRILLS = [path.read_text(encoding="utf-8") for path in builtin_drills().values()]
SIGNS = [
    *"[](){}|:=-+*/,.'\"#&!%@`<>?\\\n\t 0189aé",
    "\r\n",
    "\x00",
    "\ufeff",
    "\u2028",
    "  ",
    "- ",
    ": ",
    "---",
]
WORDS = [
    "drill", "title", "kind", "steps", "step", "cue", "flow", "calls", "call", "say", "variables", "from", "to",
    "choices", "because", "when", "window", "within_seconds", "does", "turn", "left", "right", "not", "heading",
    "not required", "course", "outbound", "niner", "300", "095", "1e999", "null", "true", "99999999999999999999",
    "{heading: 095}", "{heading: =wrap(outbound + 45)}", "{=outbound}", "{fix: KLD}", "{callsign: Heron 24}",
    "{wind: 240/18}", "[turn]", "(left | right)", "=reciprocal(outbound)", "{from: 1, to: 360}", "*a", "&a [x]",
    "<<: *a", "!!python/object:os.system", "%YAML 1.2", *slot_type_names(), *FUNCTIONS,
]  # fmt: skip


class Inputs:
    """The fuzz input of a number."""

    def __init__(self, number: int) -> None:
        self.chance = random.Random(number)

    def piece(self) -> str:
        return self.chance.choice(SIGNS if self.chance.random() < 0.6 else WORDS)

    def grown(self, most: int = 40) -> str:
        return "".join(self.piece() for _ in range(self.chance.randrange(1, most)))

    def drill(self) -> str:
        text = self.chance.choice(DRILLS)
        for _ in range(self.chance.choice((1, 1, 1, 2, 3, 6))):
            text = self.changed(text)
        return text

    def changed(self, text: str) -> str:
        """Something done to a text: pieces put in, taken out, doubled, swapped; lines moved or indented."""
        chance = self.chance
        at, other = sorted((chance.randrange(len(text) + 1), chance.randrange(len(text) + 1)))
        other = min(other, at + chance.choice((1, 2, 5, 20, 200)))
        lines = text.split("\n")
        line = chance.randrange(len(lines))
        match chance.randrange(9):
            case 0:
                return text[:at] + self.piece() + text[at:]
            case 1:
                return text[:at] + text[other:]
            case 2:
                return text[:at] + text[at:other] * 2 + text[other:]
            case 3:
                return text[:at] + self.grown(6) + text[other:]
            case 4:
                lines[line] = chance.choice(("  ", "\t", " ")) + lines[line]
            case 5:
                lines.insert(chance.randrange(len(lines)), lines[line])
            case 6:
                del lines[line]
            case 7:
                return self.revalued(text)
            case 8:
                lines[line] = lines[line].lstrip()
        return "\n".join(lines)

    def revalued(self, text: str) -> str:
        """Another value behind a colon, or another number: what stays YAML, and goes on to the later readings."""
        places = list(re.finditer(r"(?<=: )[^\n]+|\d+|=[^}\n]+", text))
        if not places:
            return self.grown()
        found = self.chance.choice(places)
        return text[: found.start()] + self.chance.choice((self.piece(), self.grown(8))) + text[found.end() :]


def is_read_or_refused(number: int) -> None:
    inputs = Inputs(number)
    text = inputs.drill() if number % 2 else f"drill: x\nsteps: {inputs.grown(60)}"
    began = time.process_time()
    try:
        read_drill(text.encode("utf-8", errors="surrogatepass"), "any.yaml", seed=number)
    except DrillError as error:
        for line in str(error).split("\n"):
            assert re.fullmatch(r"any\.yaml(:\d+:\d+)?: .+; .+", line), (number, line)
    pattern = inputs.grown()
    for reading in (compile_pattern, spoken_text):
        try:
            reading(pattern)
        except PatternError as error:
            assert "\n" not in error.reason.replace(repr("\n"), ""), (number, error)
            assert 1 <= error.line <= pattern.count("\n") + 1
    formula = inputs.grown(60)
    try:
        Expression.of(formula).value({"outbound": Expression.of("333").value({})})
    except ExpressionError as error:
        assert 0 <= error.at <= len(formula), number
    assert time.process_time() - began < SLOWEST_SECONDS, number


def fuzz(numbers: range) -> None:
    for number in numbers:
        try:
            is_read_or_refused(number)
        except Exception as error:
            raise AssertionError(f"input {number}: {type(error).__name__}: {error}") from error


def test_some_inputs() -> None:
    fuzz(range(150))


@pytest.mark.slow
def test_five_thousand_inputs() -> None:
    fuzz(range(5_000))


@pytest.mark.slow
@pytest.mark.long
@pytest.mark.parametrize("part", range(20))
def test_two_hundred_thousand_inputs(part: int) -> None:
    fuzz(range(5_000 + part * 9_750, 5_000 + (part + 1) * 9_750))


def test_the_inputs_reach_every_reading() -> None:
    """A fuzz that YAML always refuses says nothing of what is behind it."""
    refused = {"YAML": 0, "later": 0, "read": 0}
    for number in range(1, 400, 2):
        text = Inputs(number).drill()
        try:
            read_drill(text.encode("utf-8", errors="surrogatepass"), "any.yaml")
        except DrillError as error:
            refused["YAML" if "not YAML" in str(error) else "later"] += 1
        else:
            refused["read"] += 1
    assert min(refused.values()) >= 20, refused
