"""Which of the calls that the student owes is a span? The value that is expected plays no part in what was heard;
which call is due decides only between calls of the same wording, and whose a bare answer ('on') is.
"""

from __future__ import annotations

from collections.abc import Container, Iterator
from dataclasses import dataclass

from voice_trainer.drills.bare_answers import as_the_call
from voice_trainer.grading.state import CallState, FlowState, MatchState
from voice_trainer.grading.windows import too_early
from voice_trainer.journal.hearing import Meaning, Span


@dataclass(frozen=True, slots=True)
class Target:
    """A call that a span could be, by the numbers of its flow and of the call in it."""

    flow: int
    call: int

    def of(self, state: MatchState) -> CallState:
        """The call itself."""
        return state.flows[self.flow].calls[self.call]


def phrases_of(span: Span) -> set[str]:
    """The phrases that a span may be."""
    return {meaning.phrase for meaning in span.meanings}


def candidates(state: MatchState, phrases: set[str]) -> Iterator[tuple[Target, FlowState]]:
    """The calls that are worded as one of `phrases`, or answered so just now, in the drill's order."""
    for i, flow in enumerate(state.flows):
        for j, call in enumerate(flow.calls):
            if call.pattern.phrase in phrases or _is_answered(flow, call, phrases):
                yield Target(i, j), flow


def _is_answered(flow: FlowState, call: CallState, phrases: Container[str]) -> bool:
    return call.answer is not None and call.answer.phrase in phrases and flow.takes_answer(call)


def find(state: MatchState, span: Span) -> tuple[Target, Meaning] | None:
    """The call that this span is: one that is due, else a wrong one that is said anew, else one that comes next.

    A call that comes next is taken early only when it is right in every value, and only where the student can
    know that it comes: what a controller will say is not known beforehand.
    """
    due: list[Target] = []
    wrong: list[Target] = []
    upcoming: list[Target] = []
    next_flow = next((i for i, flow in enumerate(state.flows) if not flow.begun), None)
    for target, flow in candidates(state, phrases_of(span)):
        call = target.of(state)
        if call.said is not None:
            if flow.open and call.wrong:
                wrong.append(target)
        elif flow.open:
            due.append(target)
        elif not flow.closed and (target.flow == next_flow or not too_early(state, flow, call)):
            upcoming.append(target)
    for group in (due, wrong):
        if group:
            return _closest(state, span, group)
    foreseeable = [t for t in upcoming if state.drill.step_named(state.flows[t.flow].step).when != "settled"]
    found = _closest(state, span, foreseeable) if foreseeable else None
    return found if found and not _distance(state, *found) else None


def _closest(state: MatchState, span: Span, targets: list[Target]) -> tuple[Target, Meaning]:
    """Of several calls of the same wording, the one whose values are nearest, else the first."""
    pairs = [
        (target, meant)
        for target in targets
        for meaning in span.meanings
        if (meant := _meant(state.flows[target.flow], target.of(state), meaning)) is not None
    ]
    return min(pairs, key=lambda pair: _distance(state, *pair))


def _meant(flow: FlowState, call: CallState, meaning: Meaning) -> Meaning | None:
    """What a meaning says of a call; a bare answer to it says the call."""
    if meaning.phrase == call.pattern.phrase:
        return meaning
    return answered(call, meaning) if _is_answered(flow, call, (meaning.phrase,)) else None


def answered(call: CallState, meaning: Meaning) -> Meaning | None:
    """The call as its bare answer says it; None for what is no such answer."""
    if call.answer is None or call.answer.phrase != meaning.phrase:
        return None
    slots = as_the_call(call.pattern, call.answer, meaning.slots)
    return meaning.model_copy(update={"phrase": call.pattern.phrase, "slots": slots})


def _distance(state: MatchState, target: Target, meaning: Meaning) -> int:
    return len(target.of(state).differences_from(meaning.slots))
