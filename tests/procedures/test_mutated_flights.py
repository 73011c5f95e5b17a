"""One thing is said wrong, or not at all, in a flown procedure: it is named, and it is to be seen in the flight."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import lru_cache

import pytest

from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Call, Drill
from voice_trainer.journal.events import Commanded, Flown, Position, Settings, Settled
from voice_trainer.library.builtin import find_flown
from voice_trainer.library.flown import builtin_procedures
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.speaking import said_aloud
from voice_trainer.session.performance import perform
from voice_trainer.session.rehearsal import Records, rehearse

OTHER = {"heading": 40, "course": 40, "altitude": 500, "speed": 30}
"""By how much a value is said wrong: enough to be seen."""

MUTATIONS = 500
SAMPLE = 12


@lru_cache(maxsize=16)
def drill_of(name: str) -> Drill:
    return find_flown(name)


@lru_cache(maxsize=16)
def grammar_of(name: str) -> Grammar:
    return domain_of(drill_of(name))


@lru_cache(maxsize=16)
def flown_right(name: str) -> Records:
    return rehearse(drill_of(name), None, Settings(mode="fly through"), grammar_of(name))


def deeds(name: str) -> list[tuple[str, Call]]:
    """The calls that the aeroplane does, with their steps."""
    return [
        (step.step, call)
        for step in drill_of(name).steps
        for call in (step.flow.calls if step.flow else ())
        if call.does is not None and call.need == "required"
    ]


def wrong_words(name: str, call: Call, chance: random.Random) -> str | None:
    """The call with one value of it wrong; None where it has none that can be."""
    pattern = drill_of(name).pattern(call)
    keys = [key for key in pattern.expected if key in OTHER]
    if not keys:
        return None
    key = chance.choice(keys)
    value = int(pattern.expected[key])
    turned = f"{(value + OTHER[key] - 1) % 360 + 1:03d}"
    wrong = turned if key in ("heading", "course") else str(value + OTHER[key])
    return said_aloud(pattern.with_values({key: slot_type(key).canonical(wrong)}).spoken())


def mutation(number: int) -> tuple[str, str, Call, str | None]:
    """The procedure, the step, the call, and what is said in its place (None: nothing)."""
    chance = random.Random(f"mutation {number}")
    names = list(builtin_procedures())
    name = names[number % len(names)]
    step, call = chance.choice(deeds(name))
    return name, step, call, wrong_words(name, call, chance) if chance.random() < 0.5 else None


def track(records: Records) -> list[tuple[float, float, float, float]]:
    return [
        (round(r.east_nm, 2), round(r.north_nm, 2), round(r.altitude_feet, -1), round(r.airspeed_knots))
        for r in records
        if isinstance(r, Position)
    ]


def is_seen_elsewhere(name: str, call: Call, records: Records, right: Records) -> bool:
    """Whether there is a reason why the flight itself may go as it would have gone."""
    if call.does == "track":  # a localizer has one course, whatever is set (common practice)
        return tuned_at_last(drill_of(name), right) in ("localizer", "ils")
    return call.does in SHOWN_ONLY or (call.does == "turn" and is_replaced_in_the_turn(records, right))


def tuned_at_last(drill: Drill, records: Records) -> str:
    """The kind of the navaid that was tuned last."""
    aeroplane = drill.aeroplane
    assert aeroplane is not None
    frequencies = [r.slots["frequency"] for r in records if isinstance(r, Commanded) and r.verb == "tune"]
    by_frequency = {each.frequency: each.kind for each in drill.navaids}
    by_ident = {each.ident: each.kind for each in drill.navaids}
    return (
        by_frequency[frequencies[-1]] if frequencies else by_ident[aeroplane.tuned or drill.navaids[0].ident]
    )


def is_replaced_in_the_turn(records: Records, right: Records) -> bool:
    """Whether the next command came while the aeroplane was still turning, so that no heading of either was reached."""
    steering = [r for r in records if isinstance(r, Commanded) and r.verb in ("turn", "track", "direct")]
    as_it_should = [r for r in right if isinstance(r, Commanded) and r.verb in ("turn", "track", "direct")]
    index = next(i for i, (a, b) in enumerate(zip(steering, as_it_should, strict=True)) if a.slots != b.slots)
    turn, then = steering[index : index + 2]
    between = [
        r for r in records if isinstance(r, Flown) and turn.at_seconds < r.at_seconds < then.at_seconds
    ]
    return not any(r.name.startswith("wings level") for r in between)


@pytest.mark.slow
@pytest.mark.parametrize(
    "numbers", [range(SAMPLE), pytest.param(range(SAMPLE, MUTATIONS), marks=pytest.mark.long)]
)
def test_what_is_wrong_is_named_and_is_seen_in_the_flight(numbers: range) -> None:
    for number in numbers:
        name, step, call, instead = mutation(number)
        whole = perform(drill_of(name))
        said = [
            line if line.call != call.call else replace(line, text=instead or "")
            for line in whole.lines[step]
            if line.call != call.call or instead is not None
        ]
        performance = replace(whole, lines=whole.lines | {step: tuple(said)})
        records = rehearse(drill_of(name), performance, Settings(mode="fly through"), grammar_of(name))
        told = (number, name, step, call.call, instead)
        verdict = [r for r in records if isinstance(r, Settled) and (r.step, r.call) == (step, call.call)][-1]
        assert verdict.verdict in (("wrong value",) if instead else ("missed", "incomplete")), (told, verdict)
        right = flown_right(name)
        commanded = [(r.verb, r.slots) for r in records if isinstance(r, Commanded)]
        as_it_should = [(r.verb, r.slots) for r in right if isinstance(r, Commanded)]
        happened = [r.name for r in records if isinstance(r, Flown)]
        expected = [r.name for r in right if isinstance(r, Flown)]
        assert commanded != as_it_should, told
        seen = track(records) != track(right) or happened != expected
        assert seen or is_seen_elsewhere(name, call, records, right), told


SHOWN_ONLY = ("tune", "course", "gear", "flaps", "minimums alert", "glidepath", "clock")
"""What these do is seen on the panel, and in the flight only by what follows from it."""
