"""From when to when each call was on time, in session seconds: for showing, after the session is over."""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.grading.state import CallState, FlowState, MatchState
from voice_trainer.grading.windows import on_time_until, opened_at


@dataclass(frozen=True, slots=True)
class WindowTimes:
    """Session seconds. Pauses, and when the trainer could not hear, do not count: with them a window looks longer."""

    opens_seconds: float
    closes_seconds: float


def window_times(state: MatchState) -> dict[tuple[str, str], WindowTimes]:
    """The windows that had begun to run when all was over (`replay_to_the_end`), by step and call.

    Of a call that was said: the window that it was judged by.
    """
    return {
        (flow.step, call.call.call): window
        for flow in state.flows
        for call in flow.calls
        if (window := _window(state, flow, call)) is not None
    }


def _window(state: MatchState, flow: FlowState, call: CallState) -> WindowTimes | None:
    base = call.said.base_listening if call.said else opened_at(state, flow, call)
    if base is None:
        return None
    clock = state.clock
    return WindowTimes(clock.last_moment(base), clock.moment(on_time_until(state, call, base)))
