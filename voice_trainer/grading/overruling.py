"""The verdicts of a session as its instructors left them: the trainer's, and in place of some of them theirs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from voice_trainer.journal.events import AnyDecision, Settled
from voice_trainer.journal.reviewing import Overruling


def overruled(verdicts: Iterable[Settled], overrulings: Sequence[Overruling]) -> list[AnyDecision]:
    """Verdicts to be graded behind the session's own decisions, whose place they take.

    `verdicts` are the session's last ones, `overrulings` are in the order in which they were made. One on a call that
    has no verdict (any more) changes nothing.
    """
    last = {(each.step, each.call): each for each in overrulings}
    return [
        settled.model_copy(
            update={
                "verdict": overruling.verdict,
                "reason": f"{overruling.by}: {overruling.why}",
                "late_seconds": None,
            }
        )
        for settled in verdicts
        if (overruling := last.get((settled.step, settled.call))) is not None
    ]
