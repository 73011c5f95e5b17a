"""When a call is on time, and when a flow has waited long enough. All in listening seconds."""

from __future__ import annotations

from collections.abc import Iterable

from voice_trainer.drills.conditions import is_met
from voice_trainer.drills.model import Level
from voice_trainer.grading.state import CallState, FlowState, MatchState

CORRECTION_SECONDS = 4.0
"""How long a finished flow with a wrong value in it stays open, so that the student can correct it (ours)."""

READBACK_PAUSE_SECONDS = 2.0
"""The silence after a readback, in which a controller waits for the rest before asking (common practice). It begins
when the call has been acknowledged: who waits for the tone to end is not slow."""

CLOSING_SILENCE_SECONDS = 5.0
"""The silence in the middle of a brief, after which 'anything else?' is asked (ours)."""

WINDOW_FACTORS: dict[Level, float] = {"read along": 3.0, "prompted": 1.0, "cold": 1.0, "under load": 0.75}
"""How much longer or shorter a level makes the windows (ours)."""


def first_time(state: MatchState, condition: str) -> float | None:
    """The listening second at which the flight first met `condition`, None if it has not."""
    return next((when for name, when in state.events if is_met(condition, name)), None)


def opened_at(state: MatchState, flow: FlowState, call: CallState) -> float | None:
    """When the call's time began to run: the later of the flow's base and the event that opens it."""
    if flow.base_listening is None:
        return None
    if call.call.window.opens is None:
        return flow.base_listening
    event = first_time(state, call.call.window.opens)
    return None if event is None else max(flow.base_listening, event)


def on_time_until(state: MatchState, call: CallState, base_listening: float) -> float:
    """The last moment that is on time for a call whose time runs from `base_listening`."""
    limit = base_listening + call.call.window.within_seconds * call.window_factor
    closes = first_time(state, call.call.window.closes) if call.call.window.closes else None
    return limit if closes is None else min(limit, max(closes, base_listening))


def still_has_time(state: MatchState, flow: FlowState, call: CallState, reading: float) -> bool:
    """Whether the call is owed, and its time is not over at that reading of the clock, or has not begun.

    What was said and could not be made out is none of these: that call has been reached.
    """
    if not call.owed or call.unclear:
        return False
    base = opened_at(state, flow, call)
    return base is None or reading <= on_time_until(state, call, base)


def too_early(state: MatchState, flow: FlowState, call: CallState) -> bool:
    """Whether the call's window has not opened yet."""
    if call.call.window.opens is not None:
        return first_time(state, call.call.window.opens) is None
    return not flow.begun


def gives_up_at(state: MatchState, flow: FlowState) -> float | None:
    """When the flow closes with what has been said; None while that can't be known yet."""
    if flow.base_listening is None:
        return None
    owed = [call for call in flow.calls if call.owed]
    if all(call.call.need != "required" for call in flow.calls):
        owed = [call for call in flow.calls if call.said is None]
    if not owed:
        wrong = any(call.wrong for call in flow.calls)
        return flow.base_listening + (CORRECTION_SECONDS if wrong else 0.0)
    return _latest(
        None if base is None else on_time_until(state, call, base) + flow.flow.give_up_seconds
        for call in owed
        for base in [opened_at(state, flow, call)]
    )


def asks_for_items_at(state: MatchState, flow: FlowState) -> float | None:
    """When the items left out of a readback, or the rest of a brief, are asked for; None where none are, or they have
    been already.
    """
    asks = flow.flow.asks or flow.flow.closing_question is not None
    if not asks or flow.items_asked_for or flow.base_listening is None:
        return None
    some_said = any(call.said for call in flow.calls)
    some_owed = any(call.owed for call in flow.calls)
    if not (some_said and some_owed):
        return None
    patience = max(1.0, *(call.window_factor for call in flow.calls))
    silent_since = max(flow.base_listening, flow.answered_listening)
    if flow.flow.asks:
        return silent_since + READBACK_PAUSE_SECONDS * patience
    gives_up = gives_up_at(state, flow)
    closing = silent_since + CLOSING_SILENCE_SECONDS * patience
    return closing if gives_up is None else min(closing, gives_up)


def _latest(moments: Iterable[float | None]) -> float | None:
    known = list(moments)
    return None if None in known else max(m for m in known if m is not None)
