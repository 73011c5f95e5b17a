"""All that may be said while a drill runs, with every value open: what a recogniser is made ready for."""

from __future__ import annotations

from collections.abc import Mapping

from voice_trainer.drills.model import Drill
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.orders import control_phrases
from voice_trainer.phraseology.trade import trade_phrases
from voice_trainer.phraseology.trainer_name import TRAINER_NAME


def calls_of(drill: Drill) -> list[Phrase]:
    """The drill's calls as phrases, every slot open. Raises PatternError."""
    return [
        Phrase(drill.pattern(call).opened(), "call")
        for step in drill.steps
        if step.flow
        for call in step.flow.calls
    ]


def answers_of(drill: Drill) -> list[Phrase]:
    """The bare answers that will do for some of the calls, every slot open. Raises PatternError.

    They are listened for at all times, as the calls are: to whom one belongs is found out afterwards.
    """
    answers = (drill.answer_pattern(call) for step in drill.steps if step.flow for call in step.flow.calls)
    return [Phrase(answer.opened(), "call") for answer in answers if answer is not None]


def corrections_of(drill: Drill) -> list[Phrase]:
    """Each of the drill's calls, or a part of it, behind the word 'correction'. Raises PatternError."""
    return [Phrase(phrase.pattern.correction, "call") for phrase in calls_of(drill)]


def call_names(drill: Drill) -> tuple[str, ...]:
    """The names of the drill's calls, each once, as somebody may say them: 'I said the turn'."""
    return tuple(dict.fromkeys(c.call for step in drill.steps if step.flow for c in step.flow.calls))


def domain_of(
    drill: Drill, trainer_name: str = TRAINER_NAME, drills: Mapping[str, str] | None = None
) -> Grammar:
    """The drill's calls, their corrections and bare answers, the trade's common sentences, and orders to the trainer.

    `drills` maps the spoken names of other drills that may be started to the drills' own. Raises PatternError.
    """
    control = control_phrases(trainer_name, drill.region, drills=drills, calls=call_names(drill))
    calls = (*calls_of(drill), *answers_of(drill), *corrections_of(drill))
    return Grammar((*calls, *trade_phrases(drill.region), *control))
