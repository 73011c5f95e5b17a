"""The sentences that are in every drill."""

from __future__ import annotations

import re

import pytest

from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.pattern import PatternError, compile_pattern
from voice_trainer.phraseology.trade import CONTROL, TRADE, control_action, control_phrases, trade_phrases

VALUES = {
    "altitude": "2600", "level": "190", "heading": "095", "speed": "150", "squawk": "1200", "altimeter": "29.92",
    "frequency": "118.1", "runway": "15",
}  # fmt: skip


@pytest.mark.parametrize("text", TRADE)
def test_every_trade_sentence_is_read_as_one(text: str) -> None:
    everything = Grammar([*trade_phrases(), *control_phrases()])
    wanted = compile_pattern(re.sub(r"{(\w+)}", lambda slot: f"{{{slot[1]}: {VALUES[slot[1]]}}}", text))
    for words in (wanted.spoken(), wanted.brief()):
        cuts = everything.read(normalise(" ".join(words)))
        assert [piece.kind for piece in cuts[0]] == ["trade"]
        assert wanted.phrase in {meaning.phrase for meaning in cuts[0][0].meanings}


@pytest.mark.parametrize("action", CONTROL)
def test_every_control_phrase_asks_for_its_action(action: str) -> None:
    everything = Grammar([*trade_phrases(), *control_phrases()])
    words = compile_pattern(f"trainer {CONTROL[action]}").spoken()
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
