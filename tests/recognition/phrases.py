"""A small grammar for the tests of recognisers: a drill of ours, the trade's sentences, the trainer's own."""

from __future__ import annotations

from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.orders import control_phrases
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.phraseology.trade import trade_phrases

CALLS = (
    "turn left heading {heading: 284}",
    "(climb | descend) and maintain {altitude: 3000}",
    "course {course: 247} inbound",
    "tune {frequency: 113.6}",
    "timer started",
    "twist course selector {course: 048}",
    "throttle to idle",
    "pitot heat on",
    "landing gear down",
    "fuel selector both",
    "kelda vor identified",
    "established on the localizer",
)


def grammar(*changed: tuple[str, str]) -> Grammar:
    """The grammar, with texts of the drill exchanged: ('heading: 284', 'heading: 090')."""
    texts = list(CALLS)
    for old, new in changed:
        texts = [text.replace(old, new) for text in texts]
    calls = tuple(Phrase(compile_pattern(text), "call") for text in texts)
    return Grammar((*calls, *trade_phrases(), *control_phrases()))
