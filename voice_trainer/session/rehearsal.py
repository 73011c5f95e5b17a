"""A drill played without anybody: every call said right and at once, in no time, and nothing written down.

It is how a flown procedure is tried before a person flies it, and how its card gets its track.
"""

from __future__ import annotations

from collections import deque

from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import AnyDecision, AnyFact, Settings, StepBegan
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.diary import Diary
from voice_trainer.session.performance import Performance, perform
from voice_trainer.session.typed import TypedSession

Records = list[AnyFact | AnyDecision]


class _NoPaper:
    """A journal that keeps nothing."""

    def append(self, record: AnyFact | AnyDecision) -> None:
        """Let it go."""


def rehearse(
    drill: Drill,
    performance: Performance | None = None,
    settings: Settings | None = None,
    grammar: Grammar | None = None,
) -> Records:
    """All that happens when `drill` is performed, right unless told otherwise; `grammar` spares working it out."""
    lines = (performance or perform(drill)).lines
    due: deque[str] = deque()

    def watch(record: AnyFact | AnyDecision) -> None:
        if isinstance(record, StepBegan):
            due.extend(line.text for line in lines.get(record.step, ()))

    diary = Diary(_NoPaper(), (watch,))
    sequencer = Sequencer(drill, settings or Settings())
    TypedSession(sequencer, grammar or domain_of(drill), diary, lambda: due.popleft() if due else "+1").run()
    return diary.records
