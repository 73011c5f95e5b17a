"""What is said to the trainer: read as what it is, and never taken for the radio."""

from __future__ import annotations

import pytest

from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.orders import ORDERS, control_action, control_phrases
from voice_trainer.phraseology.pattern import PatternError, compile_pattern
from voice_trainer.phraseology.trade import trade_phrases

DRILLS = {"kelda one five": "kelda-outbound", "brannock clearance": "brannock-clearance"}
CALLS = ("turn", "second time", "flaps 15")


def asked(text: str, name: str = "trainer") -> str | None:
    """The action that `text` asks for; None where it is no order as a whole."""
    grammar = Grammar([*trade_phrases(), *control_phrases(name, drills=DRILLS, calls=CALLS)])
    pieces = grammar.read(normalise(text))[0]
    if [piece.kind for piece in pieces] != ["control"]:
        return None
    meaning = pieces[0].meanings[0]
    return control_action(meaning.phrase, meaning.slots, name, drills=DRILLS, calls=CALLS)


@pytest.mark.parametrize("action", ORDERS)
def test_every_control_phrase_asks_for_its_action(action: str) -> None:
    everything = Grammar([*trade_phrases(), *control_phrases()])
    words = compile_pattern(f"trainer {ORDERS[action]}").spoken()
    (pieces,) = everything.read(words)
    assert [piece.kind for piece in pieces] == ["control"]
    meaning = pieces[0].meanings[0]
    assert control_action(meaning.phrase, meaning.slots) == action


def test_the_opposite_of_a_control_phrase_asks_for_nothing() -> None:
    (pieces,) = Grammar(control_phrases()).read(("trainer", "start"))
    meaning = pieces[0].meanings[0]
    assert control_action(meaning.phrase, meaning.slots) is None
    assert control_action("gear {up/down}", {"up/down": "down"}) is None


def test_the_trainer_may_have_another_name() -> None:
    (pieces,) = Grammar(control_phrases("Professor")).read(("professor", "freeze"))
    assert pieces[0].kind == "control"
    assert control_action(pieces[0].meanings[0].phrase, {}, "Professor") == "freeze"
    with pytest.raises(PatternError, match="figures"):
        control_phrases("R2")


def test_say_again_to_the_controller_is_not_said_to_the_trainer() -> None:
    (pieces,) = Grammar([*trade_phrases(), *control_phrases()]).read(("say", "again"))
    assert pieces[0].kind == "trade"


@pytest.mark.parametrize(
    ("text", "action"),
    [
        ("trainer, resume", "continue"),
        ("trainer, speak slower", "slower"),
        ("trainer, go back to the last fix", "back"),
        ("trainer, back", "back"),
        ("trainer, once more", "again"),
        ("trainer, stop", "end"),
        ("trainer, fly Kelda one five", "start kelda-outbound"),
        ("trainer, start Kelda one five", "start kelda-outbound"),
        ("trainer, start Brannock clearance", "start brannock-clearance"),
        ("trainer, stop Brannock clearance", None),
        ("trainer, fly Kelda one six", None),
        ("I said that", "i said"),
        ("trainer, I said it", "i said"),
        ("I said the turn", "i said: turn"),
        ("trainer, I said second time", "i said: second time"),
        ("speak slower", None),
        ("say again", None),
        ("continue", None),
    ],
)
def test_orders_have_their_wordings(text: str, action: str | None) -> None:
    assert asked(text) == action


def test_a_call_whose_name_cannot_be_spoken_is_left_out() -> None:
    assert asked("I said flaps one five") is None
