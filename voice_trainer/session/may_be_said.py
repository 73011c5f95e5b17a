"""The answer to a typed '?': what may be said now.

At 'read along' and 'prompted' the calls that are due are shown with their wording, values left open: '<heading>'. At
'cold' and 'under load' the student is to know them: only how many are due is told. While everything stands still for
a call, the trainer has just said it, so it is shown at every level. What must not be said is never shown.
"""

from __future__ import annotations

from collections.abc import Iterator

from voice_trainer.grading.state import CallState, MatchState
from voice_trainer.phraseology.counting import counted
from voice_trainer.phraseology.orders import FROM_THE_FIX, I_SAID, ORDERS
from voice_trainer.phraseology.shape import shape_of
from voice_trainer.session.near_wording import HELPING_LEVELS, due_calls


def may_be_said(state: MatchState, *, paused: bool) -> list[str]:
    """Lines to show, without a line end."""
    return [*_calls(state, paused), *_always(state)]


def _calls(state: MatchState, paused: bool) -> Iterator[str]:
    trainer = state.settings.trainer_name
    if paused:
        yield f"Everything stands still: '{trainer}, continue' goes on."
        return
    calls = _stopped_for(state) or due_calls(state)
    why = "Everything stands still for" if state.stopped_for else "Due now"
    if not calls:
        yield "No call is due: an empty line lets a second pass."
    elif state.level not in HELPING_LEVELS and not state.stopped_for:
        yield f"{why}: {counted(len(calls), 'call')}; which, you know at the level '{state.level}'."
    else:
        yield f"{why}:"
        for step, call in calls:
            need = "" if call.call.need == "required" else " (may be left out)"
            yield f"  {step}, {call.call.call}{need}: {shape_of(call.pattern.opened().node)}"


def _stopped_for(state: MatchState) -> list[tuple[str, CallState]]:
    return [
        (flow.step, call)
        for flow in state.flows
        for call in flow.calls
        if (flow.step, call.call.call) in state.stopped_for
    ]


def _always(state: MatchState) -> Iterator[str]:
    trainer = state.settings.trainer_name
    yield "On what you said: correction and the right value; disregard takes the last call back."
    asked = "; say heading, say altitude, say position: the aeroplane" if state.drill.aeroplane else ""
    yield f"On the radio: say again; stand by{asked}."
    first, *others = ORDERS
    yield f"To the trainer: '{trainer}, {first}', and behind its name: {', '.join(others)}."
    yield f"Without its name: {I_SAID} that; {FROM_THE_FIX}."
