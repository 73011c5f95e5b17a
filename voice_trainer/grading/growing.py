"""A hearing that takes the place of the one before it: its speech went on after a pause.

'Two thousand' was right, and was acted upon at once; then the student went on '... six hundred'. What the first hearing
changed is put back, and the calls that it was are withdrawn; then the hearing of both is taken like any other, from the
first onset. What has been flown or said meanwhile has been: that a flow was finished too early is no reason to forget
what came after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from voice_trainer.grading.state import Before, FlowState, MatchState
from voice_trainer.journal.events import Accepted, AnyDecision, Heard, Withdrawn
from voice_trainer.journal.hearing import Hearing


def remembering(state: MatchState, before: MatchState, hearing: Hearing) -> MatchState:
    """`state`, with what `hearing` has changed since `before`."""
    changed = tuple(
        (index, old)
        for index, (old, new) in enumerate(zip(before.flows, state.flows, strict=True))
        if old is not new
    )
    return replace(state, before_hearing=Before(hearing.start_seconds, changed, before.correcting))


def without_last_hearing(state: MatchState, event: Heard) -> tuple[MatchState, list[AnyDecision]]:
    """The state as if the last hearing had not been, and what is withdrawn by that.

    Nothing changes where `event` does not begin where that hearing did.
    """
    before = state.before_hearing
    if before is None or before.start_seconds != event.hearing.start_seconds:
        return state, []
    decisions: list[AnyDecision] = []
    for index, old in before.flows:
        now = state.flows[index]
        decisions += _withdrawn(old, now, event.at_seconds)
        state = state.with_flow(index, _put_back(old, now))
    return replace(state, correcting=before.correcting, before_hearing=None), decisions


def without_what_stays(withdrawn: Sequence[AnyDecision], heard: Sequence[AnyDecision]) -> list[AnyDecision]:
    """What was withdrawn, then what was heard, but for calls that are what they were: nothing is done twice."""
    before = {(d.step, d.call, d.said) for d in withdrawn if isinstance(d, Withdrawn)}
    stays = before & {(d.step, d.call, d.said) for d in heard if isinstance(d, Accepted)}
    return [
        decision
        for decision in (*withdrawn, *heard)
        if not (
            isinstance(decision, Withdrawn | Accepted)
            and (decision.step, decision.call, decision.said) in stays
        )
    ]


def _withdrawn(old: FlowState, now: FlowState, at_seconds: float) -> list[Withdrawn]:
    return [
        Withdrawn(at_seconds=at_seconds, step=now.step, call=after.call.call, said=after.said.text)
        for before, after in zip(old.calls, now.calls, strict=True)
        if after.said is not None and after.said != before.said
    ]


def _put_back(old: FlowState, now: FlowState) -> FlowState:
    """The flow as it was, but for what has been settled about its calls, or has begun, since then."""
    calls = tuple(
        replace(
            before,
            disputed=after.disputed,
            stopped_for=after.stopped_for,
            skipped=after.skipped,
            window_factor=after.window_factor,
        )
        for before, after in zip(old.calls, now.calls, strict=True)
    )
    base = now.base_listening if now.begun and not old.begun else old.base_listening
    return replace(old, calls=calls, begun=now.begun, base_listening=base, asked=now.asked)
