"""The grade of a session that is over: the same matcher, over the facts of its journal."""

from __future__ import annotations

from collections.abc import Iterable

from voice_trainer.drills.model import Drill
from voice_trainer.grading.matcher import match
from voice_trainer.grading.state import MatchState, expect
from voice_trainer.journal.events import AnyDecision, AnyFact, Decision, Ended, Settings


def replay(drill: Drill, settings: Settings, records: Iterable[AnyFact | AnyDecision]) -> list[AnyDecision]:
    """Every decision that the facts among `records` lead to, in order. See `replay_to_the_end`."""
    return replay_to_the_end(drill, settings, records)[1]


def replay_to_the_end(
    drill: Drill, settings: Settings, records: Iterable[AnyFact | AnyDecision]
) -> tuple[MatchState, list[AnyDecision]]:
    """What the matcher knows when all is over, and every decision that the facts among `records` lead to, in order.

    A journal that breaks off (a crash, a pulled plug) is settled at its last fact, as if the student had ended
    the session there. Raises PatternError for a drill that this version can't compile.
    """
    state = expect(drill, settings)
    decisions: list[AnyDecision] = []
    last = 0.0
    for record in records:
        if isinstance(record, Decision):
            continue
        state, new = match(state, record)
        decisions += new
        last = max(last, record.at_seconds)
    if not state.ended:
        state, new = match(state, Ended(at_seconds=last, reason="by the student"))
        decisions += new
    return state, decisions
