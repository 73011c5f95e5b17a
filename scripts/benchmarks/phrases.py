"""What the corpus says: a sampler for each slot type, phrases for each half, and speech that is no call.

To add a slot type, add its sampler to `SAMPLERS`: a line. It gets two plain phrases of its own until `PHRASES` has
better ones. A slot type without a sampler stops everything, with its name.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from functools import cache
from typing import Literal

from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.pattern import Pattern, compile_pattern
from voice_trainer.phraseology.slots import slot_type, slot_type_names

Half = Literal["tuning", "test"]
HALVES: tuple[Half, ...] = ("tuning", "test")
"""Thresholds may see the first only. No voice and no phrase is in both."""


class MissingSamplerError(Exception):
    """A slot type that nobody says how to draw: one line that says what to do."""


def _direction(chance: random.Random) -> str:
    return f"{chance.randint(1, 360):03d}"


def _wind(chance: random.Random) -> str:
    gust = chance.random() < 0.3
    speed = chance.randint(4, 28)
    return f"{10 * chance.randint(1, 36):03d}/{speed:02d}" + (
        f"G{max(10, speed + chance.randint(5, 15))}" if gust else ""
    )


SAMPLERS: dict[str, Callable[[random.Random], str]] = {
    "heading": _direction,
    "course": _direction,
    "radial": _direction,
    "bearing": _direction,
    "altitude": lambda chance: str(100 * chance.randint(8, 139)),
    "minimums": lambda chance: str(10 * chance.randint(45, 180)),
    "level": lambda chance: str(10 * chance.randint(18, 41)),
    "frequency": lambda chance: f"{25 * chance.randint(4720, 5479) / 1000:.3f}",
    "altimeter": lambda chance: f"{chance.randint(2890, 3070) / 100:.2f}",
    "qnh": lambda chance: str(chance.randint(965, 1045)),
    "runway": lambda chance: f"{chance.randint(1, 36)}{chance.choice(('', '', 'L', 'R', 'C'))}",
    "squawk": lambda chance: "".join(chance.choice("01234567") for _ in range(4)),
    "letters": lambda chance: "".join(chance.choice("ABCDEFGHIJKLMNOPQRSTUVWXYZ") for _ in range(3)),
    "duration": lambda chance: (
        f"{chance.randint(1, 4)}:{chance.choice(('00', '06', '15', '24', '30', '45', '50'))}"
    ),
    "time": lambda chance: f"{chance.randint(0, 23):02d}{chance.randint(0, 59):02d}",
    "wind": _wind,
    "distance": lambda chance: str(chance.randint(2, 39)),
    "speed": lambda chance: str(5 * chance.randint(12, 42)),
    "count": lambda chance: str(chance.randint(1, 60)),
    "callsign": lambda chance: (
        "Heron " + "".join(chance.choice("0123456789") for _ in range(chance.randint(2, 3)))
    ),
    "height": lambda chance: str(10 * chance.randint(5, 50)),
    "rate": lambda chance: str(100 * chance.randint(3, 20)),
    "letter": lambda chance: chance.choice("ABCDEFGHIJKLMNOPQRSTUVWXYZ"),
    "mach": lambda chance: f"M0.{chance.randint(60, 89)}",
    "power": lambda chance: f"{5 * chance.randint(8, 20)}%",
    "pitch": lambda chance: f"{chance.randint(1, 15)} {chance.choice(('up', 'down'))}",
    "flap": lambda chance: chance.choice(("approach", "10", "20", "30")),
    "airway": lambda chance: f"V{chance.randint(2, 599)}",
    "fix": lambda chance: "KELDA",
}
"""How to draw a value of each slot type, as an author would write it."""

DIRECTION_TYPES = ("heading", "course", "radial", "bearing")
"""Those of which 180 degrees more is the reciprocal."""

_PHRASES: dict[Half, tuple[str, ...]] = {
    "tuning": (
        "turn left heading {heading}", "heading {heading}",
        "climb and maintain {altitude}", "leaving {altitude} for {altitude}",
        "{callsign: Heron 24} kelda inbound {altitude}", "{callsign: Heron 24} wilco",
        "climbing flight level {level}", "contact tower {frequency}", "monitor ground {frequency}",
        "squawk {squawk}", "altimeter {altimeter}", "kelda qnh {qnh}",
        "cleared i l s runway {runway} approach", "runway {runway} cleared for takeoff",
        "hold inbound the {radial} radial left turns", "set course {course} inbound",
        "bearing {bearing} from the station", "minimums {minimums}", "time outbound {duration}",
        "expect further clearance at {time}", "wind {wind}", "{distance} miles from kelda",
        "reduce speed {speed}", "identifier {letters}", "{count} souls on board",
        "gear down", "fuel pump on", "mixture rich", "stop the timer", "cowl flaps open",
        "throttle idle", "high rate", "autopilot engaged", "switch forward", "affirmative in sight",
        "time not required", "field not in sight", "established inbound on the localizer",
        "traffic north", "normal checklist complete", "before the turn",
        "runway {runway} not available", "do not exceed speed {speed}", "{callsign: Heron 24} not ready",
        "mixture rich below {altitude}", "gear up at {speed}",
    ),
    "test": (
        "fly heading {heading} vectors brannock", "steering {heading}",
        "descending through {altitude}", "cross kelda at or above {altitude}",
        "{callsign: Heron 24} brannock outbound {altitude}", "{callsign: Heron 24} going around",
        "level at flight level {level}", "departure frequency {frequency}", "tune and identify {frequency}",
        "transponder {squawk}", "brannock altimeter {altimeter}", "qnh {qnh} set",
        "cleared to land runway {runway}", "hold short of runway {runway}",
        "intercept the {radial} radial outbound", "twist course {course}",
        "direct bearing {bearing}", "minimums are {minimums}", "timing {duration} right turn",
        "estimating kelda at {time}", "wind check {wind}", "d m e {distance} miles",
        "maintain speed {speed} knots", "morse code {letters}", "{count} minutes of fuel",
        "flaps up", "pitot heat on", "mixture full rich", "start the clock", "alternate air closed",
        "carburetor heat cold", "landing gear extended", "increase power", "raise the nose",
        "approach mode armed", "v o r flag clockwise", "procedure turn not authorized", "runway not in sight",
        "below the glideslope", "trim manual", "climb power",
        "runway {runway} not in sight", "not cleared below {altitude}", "radial {radial} not received",
        "mixture set lean above {altitude}", "flaps down below {speed}",
    ),
}  # fmt: skip

FIGURES = ("heading", "squawk", "altitude", "letters", "qnh", "duration")
"""Slot types that joined recordings of single words can say."""

UNRELATED: dict[Half, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "tuning": (
        (
            "what would you like for dinner tonight", "the meeting has been moved to thursday afternoon",
            "my brother lives in a small house near the sea", "turn the radio down it is too loud",
            "can you pass me that pencil please", "i think we should leave before the rain starts",
            "she bought three apples and a loaf of bread", "the train from the city was two hours late",
            "did you see the film about the mountain", "put the kettle on and sit down",
            "there are nine people waiting outside", "he said he would call back at half past five",
            "the left one is cheaper than the right one", "my phone number ends in four two six",
            "where did i leave my reading glasses", "please write your name at the top",
            "look up there the geese are heading south", "we went up the hill and down the other side",
            "that will be nineteen dollars and eighty cents", "number seven is the one with the blue door",
        ),
        (
            "i told my sister", "nobody believes", "the neighbour says", "we heard yesterday", "it turned out",
            "everybody hoped",
        ),
    ),
    "test": (
        (
            "open the window a little it is hot in here", "i have not slept well for eight days",
            "we could paint the kitchen yellow", "the dog wants to go for a walk",
            "no i will do that tomorrow morning", "all the shops in the village are closed",
            "that was the best game of the season", "let me think about it for a minute",
            "the new teacher is very friendly", "it costs one hundred and twenty in the shop",
            "your coffee is getting cold", "the children are playing in the garden",
            "hold on a second there is someone at the door", "we drove up to the lake on sunday",
            "i would like a cup of tea and some biscuits please", "she has played the violin since she was six",
            "there is a parcel for you at the front desk", "take the second road on the right after the church",
            "chapter three begins on page two hundred and six", "the score was two to one at the break",
        ),
        (
            "my uncle remembers", "she wrote in a letter", "the paper reports", "i am quite sure",
            "the doctor explained", "somebody mentioned",
        ),
    ),
}  # fmt: skip
"""Whole sentences, and openings that go with each of `CLAUSES`."""

CLAUSES: dict[Half, tuple[str, ...]] = {
    "tuning": (
        "that the bakery opens at seven", "that the bridge was built by hand", "that cats can see in the dark",
        "that the old map was wrong", "that we need a bigger table", "that the river froze in january",
        "that nothing grows under the pine", "that the painter sold only one picture", "that the bus is always full",
        "that the soup needs more salt", "that the lamp in the hall is broken", "that the choir sings on friday",
        "that a storm is on the way", "that the price of butter went up", "that the key was under the mat",
        "that her cousin is a carpenter", "that the tent leaks on one side",
    ),
    "test": (
        "how the ferry was named", "how to mend a bicycle", "how deep the well is", "how many chairs there were",
        "how the garden looked in spring", "how quiet the library is", "how the recipe goes on",
        "how they lost the last match", "how long the winter lasted", "how the clock in the tower stopped",
        "how far it is to the next village", "how the puppy learned to swim", "how cold the cellar gets",
        "how the letter came to be opened", "how the two of them met", "how a cheese is made",
        "how the harvest was brought in",
    ),
}  # fmt: skip

NONSPEECH = ("room tone", "engine", "hiss", "keys", "knocks", "tone", "breath", "babble", "clicks", "rustle")
"""Sounds in which nobody speaks to the trainer."""


@cache
def phrases(half: Half) -> tuple[str, ...]:
    """The phrases of a half, its slots open; every slot type is in one of them at least.

    Raises MissingSamplerError for a slot type without a sampler.
    """
    missing = [name for name in slot_type_names() if name not in SAMPLERS]
    if missing:
        raise MissingSamplerError(
            f"no sampler for slot type {', '.join(missing)}: add a line to SAMPLERS in scripts/benchmarks/phrases.py"
        )
    texts = _PHRASES[half]
    there = {label_of(slot.type) for text in texts for slot in slots_of(compile_pattern(text).node)}
    verb = "report" if half == "tuning" else "check"
    # A type without a language of its own takes a drill that declares its values.
    open_ones = [name for name in slot_type_names() if slot_type(name).form is not None]
    more = [f"{verb} {name} {{{name}}}" for name in open_ones if name not in there]
    return (*texts, *more)


def compiled(text: str) -> Pattern:
    """A phrase as a pattern, its values open where no value is written."""
    return compile_pattern(text)


def label_of(slot_type_name: str) -> str:
    """The name that an author writes: 'callsign' for 'callsign heron'."""
    return "callsign" if slot_type_name.startswith("callsign ") else slot_type_name


def unrelated(half: Half) -> tuple[str, ...]:
    """About 120 sentences that are no calls, each once."""
    whole, openings = UNRELATED[half]
    return (*whole, *(f"{opening} {clause}" for clause in CLAUSES[half] for opening in openings))
