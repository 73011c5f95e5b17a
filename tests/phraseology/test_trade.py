"""The sentences that are in every drill."""

from __future__ import annotations

import re

import pytest

from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.orders import control_phrases
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.phraseology.trade import TRADE, trade_phrases

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
