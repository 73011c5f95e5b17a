"""Orders between drills: each is read as itself, with and without the trainer's name, and as no other."""

from __future__ import annotations

import pytest

from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.menu_orders import CALLED, menu_order, menu_phrases
from voice_trainer.phraseology.normaliser import normalise

DRILLS = {"kelda outbound": "kelda-outbound", "brannock clearance": "brannock-clearance"}

SAID = {
    "what is there": "list",
    "list": "list",
    "list the drills": "list",
    "menu": "menu",
    "help": "menu",
    "debrief": "debrief",
    "full debrief": "full debrief",
    "what is due": "due",
    "practice": "practise",
    "practice what is due": "practise",
    "ten minutes": "practise 10",
    "practice for twenty five minutes": "practise 25",
    "again": "again",
    "once more": "again",
    "slower": "slower",
    "speak faster": "faster",
    "end": "end",
    "stop": "end",
    "fly kelda outbound": "start kelda-outbound",
    "start brannock clearance": "start brannock-clearance",
}


def understood(text: str, name: str = "trainer") -> list[str | None]:
    (pieces, *_) = Grammar(menu_phrases(DRILLS, name)).read(normalise(text))
    return [
        menu_order(piece.meanings[0].phrase, piece.meanings[0].slots, DRILLS, name)
        if piece.meanings
        else None
        for piece in pieces
    ]


@pytest.mark.parametrize(("text", "order"), SAID.items())
def test_an_order_is_read_with_and_without_the_name(text: str, order: str) -> None:
    assert understood(text) == [order]
    assert understood(f"trainer {text}") == [order]
    assert understood(f"captain miller {text}", "captain miller") == [order]


def test_the_name_alone_is_the_name() -> None:
    assert understood("trainer") == [CALLED]


@pytest.mark.parametrize("text", ["start", "trainer start", "fly kelda inbound", "start brannock approach"])
def test_what_is_nearly_an_order_is_none(text: str) -> None:
    assert set(understood(text)) == {None}
