"""A bare answer ('on' to 'Landing lights.') is the call that is due where its author lets it, else nobody's."""

from __future__ import annotations

from typing import Any

import pytest

from tests.scenes import Scene, drill_of
from voice_trainer.debrief.report import differences
from voice_trainer.drills.domain import domain_of
from voice_trainer.grading.replay import replay
from voice_trainer.grading.word_pairs import pairs_of_call
from voice_trainer.journal.events import (
    Accepted,
    AskAgain,
    CorrectionBegan,
    CorrectionEnded,
    Extra,
    PutRight,
    Settings,
    Settled,
    StepBegan,
    ToTrainer,
)

LIGHTS = {"calls": [{"call": "lights", "say": "landing lights on", "answers": "on"}]}
HEAT = {"calls": [{"call": "heat", "say": "pitot heat on", "answers": "on"}]}
GEAR = {"calls": [{"call": "gear", "say": "gear down three green", "answers": "three green", "does": None}]}
FLAPS = {"calls": [{"call": "flaps", "say": "flaps {flap: full} set", "answers": "{flap: full}"}]}
WHOLE = {"calls": [{"call": "lights", "say": "landing lights on"}]}
"""The same item, whose bare answer will not do."""


def scene(*flows: dict[str, Any], kind: str = "checklist") -> Scene:
    return Scene(drill_of(*flows, kind=kind)).begin("step 1")


def accepted(told: Scene) -> list[tuple[str, str, dict[str, str]]]:
    return [(d.step, d.call, d.slots) for d in told.decisions if isinstance(d, Accepted)]


def settled(told: Scene) -> dict[str, Settled]:
    return {d.call: d for d in told.decisions if isinstance(d, Settled)}


def asked(told: Scene) -> list[tuple[str, str | None]]:
    return [(d.reason, d.wording) for d in told.decisions if isinstance(d, AskAgain)]


def extras(told: Scene) -> list[tuple[str, str]]:
    return [(d.said, d.note) for d in told.decisions if isinstance(d, Extra)]


def replays(told: Scene) -> bool:
    return differences(told.records, replay(told.drill, told.settings, told.records)) == []


@pytest.mark.parametrize(
    ("flow", "said", "slots"),
    [
        (LIGHTS, "on", {"on/off": "on"}),
        (GEAR, "three green", {"up/down": "down", "digit": "three"}),
        (FLAPS, "full", {"flap": "full"}),
    ],
)
def test_a_bare_answer_is_the_whole_call(flow: dict[str, Any], said: str, slots: dict[str, str]) -> None:
    told = scene(flow).say(said)
    assert [(step, values) for step, _, values in accepted(told)] == [("step 1", slots)]
    told.end()
    (verdict,) = settled(told).values()
    assert verdict.verdict == "correct"
    assert [(pair.said, pair.difference) for pair in pairs_of_call(told.drill, verdict)] == [
        (word, "same") for word in said.split()
    ]
    assert replays(told)


@pytest.mark.parametrize(
    ("flow", "said", "reason"),
    [
        (LIGHTS, "off", "Said off; it is on."),
        (GEAR, "two green", "Said two; it is three."),
        (FLAPS, "approach", "Said flaps approach; it is flaps full."),
    ],
)
def test_a_wrong_bare_answer_is_heard_as_easily_and_is_a_wrong_value(
    flow: dict[str, Any], said: str, reason: str
) -> None:
    told = scene(flow).say(said)
    told.end()
    (verdict,) = settled(told).values()
    assert (verdict.verdict, verdict.reason.startswith(reason)) == ("wrong value", True), verdict.reason
    marked = [pair for pair in pairs_of_call(told.drill, verdict) if pair.difference != "same"]
    assert [(pair.said, pair.difference) for pair in marked] == [(said.split(maxsplit=1)[0], "instead")]


@pytest.mark.parametrize(
    "again", ["on", "correction on", "landing lights on", "correction landing lights on"]
)
def test_a_wrong_bare_answer_is_corrected(again: str) -> None:
    told = scene(LIGHTS).say("off").say(again, after=0.5)
    told.end()
    assert settled(told)["lights"].verdict == "correct"
    assert replays(told)


def test_it_is_corrected_in_the_same_breath() -> None:
    told = scene(LIGHTS).say("off correction on")
    assert accepted(told) == [("step 1", "lights", {"on/off": "on"})]


def test_each_item_takes_its_own_and_nobody_takes_what_is_over() -> None:
    told = scene(HEAT, LIGHTS).say("on").say("on")
    assert [step for step, *_ in accepted(told)] == ["step 1"]
    assert extras(told) == [("on", "belongs to no call")]
    told.begin("step 2").say("off")
    assert [step for step, *_ in accepted(told)] == ["step 1", "step 2"]
    told.end()
    assert {name: v.verdict for name, v in settled(told).items()} == {
        "heat": "correct",
        "lights": "wrong value",
    }
    assert replays(told)


def test_it_is_that_of_the_call_that_is_due_first_in_its_flow() -> None:
    both = {"order": "any", "calls": [*HEAT["calls"], *LIGHTS["calls"]]}
    told = scene(both).say("on").say("on")
    assert [call for _, call, _ in accepted(told)] == ["heat", "lights"]
    # One that must be said whole is due first: the word is not the other's.
    mixed = {"order": "any", "calls": [{"call": "gear", "say": "gear down"}, *LIGHTS["calls"]]}
    assert accepted(scene(mixed).say("on")) == []


def test_before_the_cue_nobody_has_asked_and_while_it_sounds_somebody_has() -> None:
    told = Scene(drill_of(LIGHTS, kind="checklist"))
    told.send(StepBegan(at_seconds=0.0, step="step 1"))
    told.say("on")
    assert accepted(told) == []
    told.cue("step 1").say("on")
    assert [call for _, call, _ in accepted(told)] == ["lights"]


def test_what_is_heard_does_not_depend_on_what_is_due() -> None:
    told = scene(HEAT, LIGHTS)
    told.say("off").say("off")
    heard = [record.hearing for record in told.facts if record.event == "heard"]
    readings = [[(s.kind, s.text, s.meanings) for s in h.best.spans] for h in heard if h.best]
    assert len(readings) == 2
    assert readings[0] == readings[1]


def test_it_puts_right_what_everything_stands_still_for() -> None:
    told = scene(LIGHTS, HEAT).say("off")
    told.send(CorrectionBegan(at_seconds=told.now, step="step 1", calls=("lights",)))
    told.say("off").say("on")
    assert [d.call for d in told.decisions if isinstance(d, PutRight)] == ["lights"]
    told.send(CorrectionEnded(at_seconds=told.now, step="step 1", by="student"))
    assert replays(told)


# Where the bare answer will not do.


@pytest.mark.parametrize(
    ("said", "wording"),
    [("on", "landing lights on"), ("off", "landing lights off"), ("lights", "landing lights ...")],
)
def test_a_part_of_the_call_is_asked_for_with_the_wording_and_no_value(said: str, wording: str) -> None:
    told = scene(WHOLE).say(said)
    assert asked(told) == [("only a part of a call", wording)]
    told.say("landing lights on")
    told.end()
    assert settled(told)["lights"].verdict == "correct"
    assert replays(told)


def test_who_only_ever_says_a_part_has_missed_the_call() -> None:
    told = scene(WHOLE).say_all(["on"] * 4)
    assert len(asked(told)) == 2
    told.end()
    assert settled(told)["lights"].verdict == "missed"


def test_the_bare_answer_of_another_item_is_such_a_part_too() -> None:
    told = scene(WHOLE, HEAT).say("on")
    assert asked(told) == [("only a part of a call", "landing lights on")]


def test_a_value_alone_is_a_part_and_another_call_is_none() -> None:
    turn = {"calls": [{"call": "turn", "say": "turn left heading {heading: 310}"}]}
    told = scene(turn, {"calls": [{"call": "left", "say": "turn left"}]}, kind="radio").say("three one zero")
    assert asked(told) == [("only a part of a call", "turn ... heading ...")]
    told.say("turn left")
    assert len(asked(told)) == 1


def test_what_is_short_and_unclear_twice_is_told_the_wording_in_a_checklist() -> None:
    told = scene(WHOLE).say("on", clarity="unclear").say("on", clarity="unclear")
    assert asked(told) == [
        ("could not be made out", None),
        ("could not be made out", "landing lights ..."),
    ]
    radio = scene(WHOLE, kind="radio").say("on", clarity="unclear").say("on", clarity="unclear")
    assert [wording for _, wording in asked(radio)] == [None, None]
    long = (
        scene(WHOLE).say("landing lights off", clarity="unclear").say("landing lights off", clarity="unclear")
    )
    assert [wording for _, wording in asked(long)] == [None, None]


# Orders without the trainer's name.


@pytest.mark.parametrize("said", ["I said that", "I said it", "I said the lights", "again from the fix"])
def test_while_a_drill_runs_no_bare_words_dispute_or_end_it(said: str) -> None:
    told = scene(LIGHTS).say("off").say(said)
    assert not [d for d in told.decisions if isinstance(d, ToTrainer)]
    assert extras(told) == [(said.lower(), "belongs to no call")]
    told.say(f"trainer {said}")
    (order,) = [d for d in told.decisions if isinstance(d, ToTrainer)]
    assert (order.order, order.call) in {("i said", "lights"), ("again from the fix", "")}


def test_a_call_behind_a_bare_i_said_is_a_call() -> None:
    gear = {"calls": [{"call": "gear", "say": "gear down"}]}
    told = scene(gear).say("I said gear down")
    assert [d.call for d in told.decisions if isinstance(d, Accepted)] == ["gear"]
    assert extras(told) == []
    assert not [d for d in told.decisions if isinstance(d, ToTrainer)]
    told.end()
    assert settled(told)["gear"].verdict == "correct"
    assert replays(told)


def test_a_bare_i_said_may_be_any_short_answer_to_what_is_due() -> None:
    told = scene(WHOLE).say("I said")
    assert asked(told) == [("could not be made out", None)]
    nothing_due = scene(LIGHTS).say("on").say("I said")
    assert extras(nothing_due) == [("i said", "belongs to no call")]


def test_the_trainer_may_go_by_a_name_of_two_words() -> None:
    told = Scene(drill_of(LIGHTS, kind="checklist"), Settings(trainer_name="old friend"))
    told.grammar = domain_of(told.drill, "old friend")
    told.begin("step 1").say("off").say("I said that")
    assert not [d for d in told.decisions if isinstance(d, ToTrainer)]
    told.say("old friend I said that")
    assert [d.call for d in told.decisions if isinstance(d, ToTrainer)] == ["lights"]
