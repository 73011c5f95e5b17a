"""Only a part of what is due was said: 'on' to 'Landing lights.' where the whole call is wanted.

It is never taken for the call. The student is told how the call goes, without its values: at once where the words are a
part of it, at the second time where fewer words than it has could not be made out and the cue names the item.
"""

from __future__ import annotations

from collections.abc import Sequence

from voice_trainer.grading.finding import Target
from voice_trainer.grading.state import CallState, FlowState, MatchState
from voice_trainer.journal.hearing import Hearing
from voice_trainer.phraseology.comparison import BESIDE


def is_part_of(call: CallState, words: Sequence[str]) -> bool:
    """Whether all of `words` stand one behind the other somewhere in the call, and are more than its small words."""
    return any(word not in BESIDE for word in words) and call.pattern.holds(words)


def part_of_what_is_due(state: MatchState, hearing: Hearing) -> Target | None:
    """The call due next in a flow that was asked for, of which a clear hearing is a part and nothing else."""
    spans = hearing.best.spans if hearing.best and hearing.clarity == "clear" else ()
    answers = {call.answer.phrase for flow in state.flows for call in flow.calls if call.answer is not None}
    if not all(
        span.kind == "other" or (span.kind == "call" and {m.phrase for m in span.meanings} <= answers)
        for span in spans
    ):
        return None
    words = hearing.text.split()
    for i, flow in state.open_flows():
        due = flow.due
        if due is not None and flow.asked and is_part_of(due, words):
            return Target(i, flow.calls.index(due))
    return None


def is_short_again(state: MatchState, flow: FlowState, call: CallState, hearing: Hearing) -> bool:
    """Whether an unclear hearing, not the first about `call`, has fewer words than it, and the cue names the item.

    In a checklist it does, and where an author says what bare answer will do. Elsewhere a cough would give away what is
    to be known.
    """
    names_it = flow.asked and (state.drill.kind == "checklist" or call.answer is not None)
    return names_it and call.unclear > 0 and 0 < len(hearing.text.split()) < len(call.pattern.brief())
