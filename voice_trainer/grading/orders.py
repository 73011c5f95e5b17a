"""What was said to the trainer itself, taken out of a hearing; and which call an 'I said that' is about.

While a drill runs, an order that costs something needs the trainer's name: without it, 'I said' and 'again from the
fix' are nobody's words, and a call behind 'I said' is a call. In the talk after it, where nothing is due any more, they
stand bare.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from voice_trainer.drills.domain import call_names
from voice_trainer.grading.state import MatchState
from voice_trainer.journal.events import AnyDecision, ToTrainer
from voice_trainer.journal.hearing import Span
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.orders import I_SAID, control_action

HELD_AGAINST_THE_STUDENT = ("missed", "wrong value", "unclear", "incomplete")
"""The verdicts that 'I said that' may mean. A late, early or misplaced call has to be named."""


def orders_in(
    state: MatchState, spans: Sequence[Span], at_seconds: float
) -> tuple[list[AnyDecision], list[Span]]:
    """The orders among `spans`, and what is left. The call behind an 'I said' belongs to it."""
    orders: list[AnyDecision] = []
    rest: list[Span] = []
    said_before: ToTrainer | None = None
    for span, next_span in zip_longest(spans, spans[1:]):
        if span.kind == "control" and not may_be_obeyed(state, span):
            said_before = None
            if next_span is None or next_span.kind != "call":
                rest.append(span)
        elif span.kind == "control":
            order = _order(state, span)
            said_before = None
            if order is None:
                continue
            step, call = _disputed(state, order, frozenset()) if order.startswith(I_SAID) else ("", "")
            said = ToTrainer(at_seconds=at_seconds, order=order.partition(":")[0], step=step, call=call)
            said_before = said if order == I_SAID else None
            orders.append(said)
        elif said_before is not None and span.kind in ("call", "trade"):
            step, call = _disputed(state, I_SAID, frozenset(m.phrase for m in span.meanings))
            orders[-1] = said_before.model_copy(update={"step": step, "call": call})
            said_before = None
        else:
            rest.append(span)
            said_before = None
    return orders, rest


def may_be_obeyed(state: MatchState, span: Span) -> bool:
    """Whether an order was given by the trainer's name, or nothing is due that it could be an answer to."""
    name = normalise(state.settings.trainer_name)
    return state.ended or [word.text for word in span.words[: len(name)]] == list(name)


def _order(state: MatchState, span: Span) -> str | None:
    meaning = span.meanings[0]
    settings = state.settings
    return control_action(
        meaning.phrase,
        meaning.slots,
        settings.trainer_name,
        drills=settings.drills,
        calls=call_names(state.drill),
    )


def _disputed(state: MatchState, order: str, phrases: frozenset[str]) -> tuple[str, str]:
    """Step and name of the call that is disputed: the last one that fits, ('', '') where none does."""
    wrong_now = [
        (flow.step, c.call.call, "wrong value")
        for _, flow in state.open_flows()
        for c in flow.calls
        if c.wrong
    ]
    judged = [(v.step, v.call, v.verdict) for v in state.verdicts]
    name = order.partition(": ")[2]
    for step, call, verdict in reversed([*judged, *wrong_now]):
        if name or phrases:
            fits = verdict not in ("correct", "disputed") and (
                call == name or _phrase(state, step, call) in phrases
            )
        else:
            fits = verdict in HELD_AGAINST_THE_STUDENT
        if fits:
            return step, call
    return "", ""


def _phrase(state: MatchState, step: str, call: str) -> str:
    flow = state.flow_of(step)
    assert flow is not None
    return next(c.pattern.phrase for c in flow.calls if c.call.call == call)
