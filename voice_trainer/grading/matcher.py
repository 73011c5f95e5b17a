"""The one matcher: (state, event) -> (state, decisions). Pure.

Theory of operation
-------------------
Live, the decisions fly the aeroplane and drive the sequencer; afterwards the same function over the journal's
facts gives the grade. For the two to be equal, whatever the matcher does depends on facts only, never on how
often it was asked:

- Time is judged up to a *horizon*: a little behind the present (`DETECTION_SECONDS`), since speech is
  noticed a moment after it began, and never beyond the onset of speech that is not understood yet. A limit
  that lies before the horizon is acted upon with the time of the limit, not of the event that revealed it.
- Windows run on the listening clock, which stands still while the trainer speaks, is deaf or is paused, and where
  sound was lost. Windows that run when a device is lost begin anew when it is back: what it was about is said again.
- A `Tick` carries nothing but the time: leaving any of them out changes when a decision is made known, but
  no decision and not their order.

A hearing is taken apart in `recognised`: its spans are given to calls there. Here, only time passes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from voice_trainer.drills.cue_names import step_that_starts_anew
from voice_trainer.grading.growing import remembering, without_last_hearing, without_what_stays
from voice_trainer.grading.interventions import intervene, latest_verdicts, timed_from
from voice_trainer.grading.orders import orders_in
from voice_trainer.grading.recognised import take_hearing
from voice_trainer.grading.settling import settle_flow
from voice_trainer.grading.state import FlowState, MatchState
from voice_trainer.grading.windows import WINDOW_FACTORS, asks_for_items_at, gives_up_at, still_has_time
from voice_trainer.journal.events import (
    DEVICE_LOST,
    AnyDecision,
    AnyFact,
    AskFor,
    AskForRest,
    CorrectionBegan,
    CorrectionEnded,
    CueEnded,
    CueStarted,
    Disputed,
    Ended,
    Fault,
    Flown,
    Heard,
    LevelChanged,
    ListeningStarted,
    ListeningStopped,
    Paused,
    Resumed,
    SamplesLost,
    Skipped,
    SpeechDropped,
    SpeechStarted,
    StepBegan,
    WentBack,
    at,
    is_broken_off,
)

DETECTION_SECONDS = 0.3
"""Speech is reported at most this long after its onset: the detector's block and its shortest utterance."""


SAMPLES_A_SECOND = 16_000
"""What a microphone's lost samples are counted by."""


@dataclass(frozen=True, slots=True)
class Tick:
    """Time has passed; never journaled."""

    at_seconds: float


def match(state: MatchState, event: AnyFact | Tick) -> tuple[MatchState, list[AnyDecision]]:
    """Take one event in; return the new state and what was decided, in order. Never raises."""
    if state.ended:
        return _afterwards(state, event)
    is_last = isinstance(event, Ended)
    horizon = event.at_seconds if is_last else event.at_seconds - DETECTION_SECONDS
    if isinstance(event, SpeechStarted):
        horizon = min(horizon, event.onset_seconds)
    # What is not understood when a session is broken off may have been the call: its limit has not passed.
    if state.speech_onsets and not (isinstance(event, Ended) and not is_broken_off(event.reason)):
        horizon = min(horizon, state.speech_onsets[0])
    state, decisions = _let_time_pass(state, horizon)
    match event:
        case Heard():
            state, heard = _heard(state, event)
            decisions += heard
        case Ended():
            state, closed = _end(state, event, horizon)
            decisions += closed
        case Skipped() | Disputed() | WentBack() | LevelChanged() | CorrectionBegan() | CorrectionEnded():
            state, new = intervene(state, event)
            decisions += new
        case _:
            state = _note(state, event)
    return replace(state, verdicts=latest_verdicts(state.verdicts, decisions)), decisions


def _heard(state: MatchState, event: Heard) -> tuple[MatchState, list[AnyDecision]]:
    hearing = event.hearing
    # Speech that paused, was taken for two utterances, and was then heard as one began twice.
    later = tuple(onset for onset in state.speech_onsets[1:] if onset >= hearing.end_seconds)
    state = replace(state, speech_onsets=later)
    state, decisions = without_last_hearing(state, event) if event.grown else (state, [])
    before = state
    state, heard = take_hearing(state, hearing, event.at_seconds)
    state, closed = _close_finished(state, event.at_seconds)
    return remembering(state, before, hearing), [*without_what_stays(decisions, heard), *closed]


def _afterwards(state: MatchState, event: AnyFact | Tick) -> tuple[MatchState, list[AnyDecision]]:
    """After the end nothing is judged any more; what is said to the trainer is heard, and a verdict can be disputed."""
    decisions: list[AnyDecision] = []
    if isinstance(event, Heard):
        best = event.hearing.best if event.hearing.clarity == "clear" else None
        decisions, _ = orders_in(state, best.spans if best else (), event.at_seconds)
    elif isinstance(event, Disputed):
        state, decisions = intervene(state, event)
    return replace(state, verdicts=latest_verdicts(state.verdicts, decisions)), decisions


def _note(state: MatchState, event: AnyFact | Tick) -> MatchState:
    now = event.at_seconds
    match event:
        case StepBegan(step=step):
            return _begun(state, step, now)
        case CueStarted(cue=cue):
            asking = state.updated(step_that_starts_anew(cue) or cue, lambda flow: replace(flow, asked=True))
            return replace(asking, clock=state.clock.stop(f"cue {cue}", now))
        case CueEnded(cue=cue):
            return _cue_ended(replace(state, clock=state.clock.start(f"cue {cue}", now)), cue, now)
        case ListeningStopped():
            return replace(state, clock=state.clock.stop("deaf", now))
        case ListeningStarted():
            return replace(state, clock=state.clock.start("deaf", now))
        case Paused(reason=reason):
            # The clock reads the same when the session goes on.
            anew = timed_from(state, state.clock.reading(now)) if reason == DEVICE_LOST else state
            return replace(anew, clock=state.clock.stop("paused", now))
        case Resumed():
            return replace(state, clock=state.clock.start("paused", now))
        case SamplesLost(samples=samples):
            return _lost(state, samples / SAMPLES_A_SECOND, now)
        case SpeechStarted(onset_seconds=onset):
            return replace(state, speech_onsets=(*state.speech_onsets, onset))
        case SpeechDropped():
            return replace(state, speech_onsets=state.speech_onsets[:-1])
        case Fault():
            return replace(state, speech_onsets=())
        case Flown(name=name):
            return replace(state, events=(*state.events, (name, state.clock.reading(now))))
        case _:
            return state


def _lost(state: MatchState, seconds: float, now: float) -> MatchState:
    """Sound was lost; what is due may have been said just then."""
    for index, flow in list(state.open_flows()):
        state = state.with_flow(index, replace(flow, lost_seconds=flow.lost_seconds + seconds))
    return replace(state, clock=state.clock.stood_still(now - seconds, now))


def _begun(state: MatchState, step: str, now: float) -> MatchState:
    """A step begins. Without a cue that is spoken, its first call is timed from here."""
    cue = state.drill.step_named(step).cue
    is_spoken = cue is not None and not cue.is_silent(state.level)
    base = None if is_spoken else state.clock.reading(now)
    factor = WINDOW_FACTORS[state.level]

    def begun(flow: FlowState) -> FlowState:
        calls = tuple(replace(call, window_factor=factor) for call in flow.calls)
        return replace(flow, calls=calls, begun=True, base_listening=base)

    events_before = (*state.events_before, (step, len(state.events)))
    return replace(state.updated(step, begun), events_before=events_before)


def _cue_ended(state: MatchState, cue: str, now: float) -> MatchState:
    base = state.clock.reading(now)

    def from_here(flow: FlowState) -> FlowState:
        asked = flow.step == step_that_starts_anew(cue)
        if flow.step == cue and flow.base_listening is None and flow.begun:
            return replace(flow, base_listening=base, lost_seconds=0.0)
        if asked and flow.open and flow.base_listening is not None:
            return replace(flow, base_listening=max(base, flow.base_listening), lost_seconds=0.0)
        return flow

    return replace(state, flows=tuple(from_here(flow) for flow in state.flows))


def _let_time_pass(state: MatchState, horizon: float) -> tuple[MatchState, list[AnyDecision]]:
    """Act on every limit up to `horizon`, each at its own moment, the earliest first."""
    decisions: list[AnyDecision] = []
    reading = state.clock.reading(horizon)
    while True:
        limits = [
            (limit, index, kind)
            for index, flow in state.open_flows()
            for kind, limit in (("ask", asks_for_items_at(state, flow)), ("close", gives_up_at(state, flow)))
            if limit is not None and limit <= reading
        ]
        if not limits:
            return state, decisions
        limit, index, kind = min(limits)
        flow = state.flows[index]
        moment = state.clock.moment(limit)
        if kind == "ask":
            state, asked = _ask_for_items(state, index, flow, moment)
            decisions += asked
        else:
            decisions += settle_flow(state, flow, moment)
            state = state.with_flow(index, replace(flow, closed=True))


def _ask_for_items(
    state: MatchState, index: int, flow: FlowState, moment: float
) -> tuple[MatchState, list[AnyDecision]]:
    calls = tuple(replace(c, asked_for=True) if c.owed else c for c in flow.calls)
    asked = state.with_flow(index, replace(flow, items_asked_for=True, calls=calls))
    if flow.flow.closing_question is not None:
        return asked, [AskForRest(at_seconds=at(moment), step=flow.step, text=flow.flow.closing_question)]
    return asked, [
        AskFor(
            at_seconds=at(moment),
            step=flow.step,
            call=c.call.call,
            text=c.call.ask or f"say again {c.call.call}",
        )
        for c in flow.calls
        if c.owed
    ]


def _close_finished(state: MatchState, at_seconds: float) -> tuple[MatchState, list[AnyDecision]]:
    """Close at once the flows in which all is said, and all of it right."""
    decisions: list[AnyDecision] = []
    for index, flow in list(state.open_flows()):
        if flow.finished:
            decisions += settle_flow(state, flow, at_seconds)
            state = state.with_flow(index, replace(flow, closed=True))
    return state, decisions


def _end(state: MatchState, event: Ended, horizon: float) -> tuple[MatchState, list[AnyDecision]]:
    """Settle what is still open. Steps that never began are missed.

    Not where the session was broken off: a call that still had time then is *not reached*. Like those of a step that
    never began it gets no verdict.
    """
    decisions: list[AnyDecision] = []
    if is_broken_off(event.reason):
        reading = state.clock.reading(horizon)
        for flow in state.flows:
            if flow.open or (not flow.closed and any(call.said for call in flow.calls)):
                reached = tuple(call for call in flow.calls if not still_has_time(state, flow, call, reading))
                decisions += settle_flow(state, replace(flow, calls=reached), event.at_seconds)
    else:
        for flow in state.flows:
            if not flow.closed:
                decisions += settle_flow(state, flow, event.at_seconds)
    return replace(state, ended=True, flows=tuple(replace(f, closed=True) for f in state.flows)), decisions
