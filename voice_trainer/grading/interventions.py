"""What the student or the trainer does about the grade while a drill runs: skip, dispute, go back, put right.

Each is a fact of its own in the journal, so a replay makes the same of it as the live session did.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from voice_trainer.grading.corrections import corrected_slots
from voice_trainer.grading.finding import answered
from voice_trainer.grading.settling import settle_call, settle_flow
from voice_trainer.grading.state import MatchState, expect
from voice_trainer.journal.events import (
    AnyDecision,
    CorrectionBegan,
    CorrectionEnded,
    Disputed,
    LevelChanged,
    PutRight,
    Settled,
    Skipped,
    WentBack,
)
from voice_trainer.journal.hearing import Span

Intervention = Skipped | Disputed | WentBack | LevelChanged | CorrectionBegan | CorrectionEnded

STAND_BY = "stand by"
STAND_BY_SECONDS = 20.0
"""How much time a 'stand by' gives (ours): then the windows begin anew."""

PUT_RIGHT_REMARK = "put right when the trainer stopped"
SHOWN_REMARK = "not put right when the trainer stopped"
WHILE_CORRECTED = "while corrected"
STOPPED_REMARKS = (PUT_RIGHT_REMARK, SHOWN_REMARK)


def intervene(state: MatchState, event: Intervention) -> tuple[MatchState, list[AnyDecision]]:
    """Take in one of these facts. A step or call that does not fit changes nothing."""
    match event:
        case LevelChanged(level=level):
            return replace(state, level=level), []
        case Skipped():
            return _skipped(state, event)
        case Disputed():
            return _disputed(state, event)
        case WentBack():
            return _went_back(state, event), []
        case CorrectionBegan(step=step, calls=calls, at_seconds=now):
            wanted = [(step, call) for call in calls]
            state = state.with_calls(wanted, lambda call: replace(call, stopped_for=True))
            state = timed_from(state, state.clock.reading(now))
            clock = state.clock.stop("correction", now)
            return replace(state, stopped_for=tuple(wanted), clock=clock), []
        case CorrectionEnded():
            return _correction_ended(state, event)


def latest_verdicts(known: tuple[Settled, ...], decisions: Iterable[AnyDecision]) -> tuple[Settled, ...]:
    """The last verdict on each call, the latest last."""
    new = {(d.step, d.call): d for d in decisions if isinstance(d, Settled)}
    if not new:
        return known
    return (*(v for v in known if (v.step, v.call) not in new), *new.values())


def give_time(state: MatchState, span: Span) -> MatchState:
    """'Stand by': the windows that run begin anew after a while."""
    return timed_from(state, state.clock.reading(span.end_seconds) + STAND_BY_SECONDS)


def timed_from(state: MatchState, listening_seconds: float) -> MatchState:
    """What is due is timed from that moment on, if not from a later one already."""
    for index, flow in list(state.open_flows()):
        if flow.base_listening is not None:
            later = replace(flow, base_listening=max(flow.base_listening, listening_seconds))
            state = state.with_flow(index, later)
    return state


def take_put_right(
    state: MatchState, spans: Iterable[Span], at_seconds: float
) -> tuple[MatchState, list[AnyDecision], list[Span]]:
    """While everything stands still for some calls: what puts one of them right, and the spans that are left."""
    decisions: list[AnyDecision] = []
    rest: list[Span] = []
    for span in spans:
        right = puts_right(state, span, at_seconds)
        if right is None:
            rest.append(span)
            continue
        decisions.append(right)
        waited_for = tuple(each for each in state.stopped_for if each != (right.step, right.call))
        state = replace(state, stopped_for=waited_for)
        state = state.with_calls(
            [(right.step, right.call)], lambda call: replace(call, remarks=(PUT_RIGHT_REMARK,))
        )
    return state, decisions, rest


def is_attempt_at_stopped(state: MatchState, span: Span) -> bool:
    """Whether a span is one of the calls that everything stands still for, with whatever values."""
    phrases = frozenset(meaning.phrase for meaning in span.meanings)
    return any(
        call.pattern.phrase in phrases or corrected_slots(call, span) is not None
        for flow in state.flows
        for call in flow.calls
        if (flow.step, call.call.call) in state.stopped_for
    )


def is_answered(span: Span) -> bool:
    """Whether something of the trade that belongs to no call is answered all the same."""
    return span.kind == "trade" and (span.text == STAND_BY or span.text.startswith("say "))


def puts_right(state: MatchState, span: Span, at_seconds: float) -> PutRight | None:
    """The call that everything stands still for, where this span says it rightly."""
    for flow in state.flows:
        for call in flow.calls:
            if (flow.step, call.call.call) not in state.stopped_for:
                continue
            corrected = corrected_slots(call, span)
            said = [m.slots for m in span.meanings if m.phrase == call.pattern.phrase]
            if (flow.step, call.call.call) == state.stopped_for[0]:  # the trainer has just asked for it
                said += [bare.slots for m in span.meanings if (bare := answered(call, m)) is not None]
            for slots in said if corrected is None else [corrected]:
                if not call.differences_from(slots):
                    return PutRight(
                        at_seconds=at_seconds,
                        step=flow.step,
                        call=call.call.call,
                        said=span.text,
                        slots=slots,
                    )
    return None


def _skipped(state: MatchState, event: Skipped) -> tuple[MatchState, list[AnyDecision]]:
    flow = state.flow_of(event.step)
    if flow is None or not flow.open:
        return state, []
    calls = tuple(replace(call, skipped=True) if call.owed else call for call in flow.calls)
    flow = replace(flow, calls=calls)
    decisions: list[AnyDecision] = [*settle_flow(state, flow, event.at_seconds)]
    closed = replace(flow, closed=True)
    return state.updated(event.step, lambda _: closed), decisions


def _disputed(state: MatchState, event: Disputed) -> tuple[MatchState, list[AnyDecision]]:
    which = (event.step, event.call)
    state = state.with_calls([which], lambda call: replace(call, disputed=True))
    flow = state.flow_of(event.step)
    if flow is None:
        return state, []
    state = replace(state, stopped_for=tuple(each for each in state.stopped_for if each != which))
    if not flow.closed:
        if not flow.open or not flow.finished:
            return state, []
        decisions: list[AnyDecision] = [*settle_flow(state, flow, event.at_seconds)]
        closed = replace(flow, closed=True)
        return state.updated(event.step, lambda _: closed), decisions
    return state, [
        settle_call(state, flow, call, event.at_seconds)
        for call in flow.calls
        if call.call.call == event.call
    ]


def _went_back(state: MatchState, event: WentBack) -> MatchState:
    """The flows from that step on are as if they had never begun; what happened in flight since then, has not."""
    steps = [step.step for step in state.drill.steps]
    if event.step not in steps:
        return state
    anew = frozenset(steps[steps.index(event.step) :])
    fresh = {flow.step: flow for flow in expect(state.drill, state.settings).flows}
    happened = next((n for step, n in state.events_before if step in anew), len(state.events))
    return replace(
        state,
        flows=tuple(fresh[flow.step] if flow.step in anew else flow for flow in state.flows),
        events=state.events[:happened],
        verdicts=tuple(verdict for verdict in state.verdicts if verdict.step not in anew),
        events_before=tuple(each for each in state.events_before if each[0] not in anew),
        stopped_for=(),
        clock=state.clock.start("correction", event.at_seconds),
    )


def _correction_ended(state: MatchState, event: CorrectionEnded) -> tuple[MatchState, list[AnyDecision]]:
    state = replace(state, clock=state.clock.start("correction", event.at_seconds))
    state = state.with_calls(state.stopped_for, lambda call: replace(call, remarks=(SHOWN_REMARK,)))
    state = replace(state, stopped_for=())
    state = timed_from(state, state.clock.reading(event.at_seconds))
    flow = state.flow_of(event.step)
    if flow is None or not flow.closed:
        return state, []
    return state, [
        settle_call(state, flow, call, event.at_seconds) for call in flow.calls if call.stopped_for
    ]
