"""All that may be said while a drill runs, with every value open: what a recogniser is made ready for."""

from __future__ import annotations

from voice_trainer.drills.model import Drill
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.trade import control_phrases, trade_phrases


def calls_of(drill: Drill) -> list[Phrase]:
    """The drill's calls as phrases, every slot open. Raises PatternError."""
    return [
        Phrase(drill.pattern(call).opened(), "call")
        for step in drill.steps
        if step.flow
        for call in step.flow.calls
    ]


def domain_of(drill: Drill) -> Grammar:
    """The drill's calls, the common sentences of the trade, and what is said to the trainer."""
    return Grammar((*calls_of(drill), *trade_phrases(drill.region), *control_phrases(region=drill.region)))
