"""From a hearing to calls: which of the calls that the student owes is each span?

A span is a call when it is worded as the call's pattern (its phrase), with whatever values; the values are
compared afterwards. Which *value* is expected plays no part in what was heard; which *call* is due decides
only between calls of the same wording.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from voice_trainer.grading.corrections import (
    as_meant,
    corrected_call,
    last_said,
    withdrawn,
    without_correction,
)
from voice_trainer.grading.discretion import calls_like, key_of
from voice_trainer.grading.finding import Target, candidates, find, phrases_of
from voice_trainer.grading.fragments import is_short_again, part_of_what_is_due
from voice_trainer.grading.interventions import (
    STAND_BY,
    WHILE_CORRECTED,
    give_time,
    is_answered,
    is_attempt_at_stopped,
    puts_right,
    take_put_right,
)
from voice_trainer.grading.orders import orders_in
from voice_trainer.grading.settling import settle_call
from voice_trainer.grading.state import Attempt, MatchState, Said
from voice_trainer.grading.windows import opened_at, too_early
from voice_trainer.journal.events import Accepted, AnyDecision, AskAgain, Critical, Extra, Withdrawn, at
from voice_trainer.journal.hearing import Hearing, Interpretation, Meaning, Span
from voice_trainer.phraseology.corrections import CORRECTION
from voice_trainer.phraseology.orders import I_SAID

HESITATION_SECONDS = 1.5
"""What is no call and no longer than this, with the quiet at its edges, may be an 'uh' (ours)."""

OWN_WORDS = "close to a call, but not its words"
IN_PART = "only a part of a call"
UNCLEAR = "could not be made out"
"""Why something is asked for again."""


def take_hearing(
    state: MatchState, hearing: Hearing, at_seconds: float
) -> tuple[MatchState, list[AnyDecision]]:
    """Give every span of the hearing to a call, or to nobody."""
    seconds = at(hearing.end_seconds - hearing.start_seconds)
    if "paused" in state.clock.reasons:
        return state, _while_paused(state, hearing, at_seconds, seconds)
    if state.stopped_for:
        return _while_stopped(state, hearing, at_seconds)
    if hearing.clarity == "not a call" or hearing.best is None:
        return _nothing(state, hearing, at_seconds)
    if hearing.clarity == "unclear" or _may_be_any_short_answer(state, hearing):
        return _unclear(state, hearing, at_seconds)
    orders, spans = orders_in(state, _best_fitting(state, hearing), at_seconds)
    state, decisions, taken = _take_spans(state, spans, at_seconds)
    if not taken and not orders:
        if similar := _similar_wording(state, hearing):
            return _ask_again(state, hearing, at_seconds, (similar,), wording=True)
        if (part := part_of_what_is_due(state, hearing)) and _may_ask(state, part):
            return _ask_again(state, hearing, at_seconds, (part,), wording=True, reason=IN_PART)
    return state, decisions + orders


def _take_spans(
    state: MatchState, spans: Sequence[Span], at_seconds: float
) -> tuple[MatchState, list[AnyDecision], bool]:
    """Give every span to a call, or to nobody; whether any of them was of use."""
    decisions: list[AnyDecision] = []
    sayings, correcting = as_meant(state, spans, correcting=state.correcting)
    taken = correcting
    for saying in sayings:
        span = saying.span
        corrected = corrected_call(state, span) if saying.kind == "correction" else None
        if saying.kind == "disregard":
            state, new = _withdraw(state, span, at_seconds)
            decisions += new
            taken = True
        elif corrected is not None:
            state, new = _accept(state, *corrected, span, at_seconds, correcting=True)
            decisions += new
            taken = True
        else:
            if saying.kind == "correction":
                span = without_correction(state, span)
            found = find(state, span)
            if found is None:
                decisions.append(_nobodys(state, span, at_seconds))
                if span.text == STAND_BY:
                    state = state if state.stopped_for else give_time(state, span)
                    taken = True
                continue
            state, new = _accept(state, *found, span, at_seconds, correcting=saying.corrected)
            decisions += new
            taken = True
    return replace(state, correcting=correcting), decisions, taken


def _while_stopped(
    state: MatchState, hearing: Hearing, at_seconds: float
) -> tuple[MatchState, list[AnyDecision]]:
    """While everything stands still for some calls: what puts them right is that, and all else goes its usual way.

    But a wrong try at one of them is no other call with a wrong value, and what is said of it is not said of others.
    """
    readings = hearing.interpretations if hearing.best and hearing.clarity == "clear" else ()
    same_words = [reading.spans for reading in readings if reading.text == hearing.text]
    spans = max(same_words, key=lambda spans: _fitting(state, spans, at_seconds)) if same_words else ()
    orders, others = orders_in(state, spans, at_seconds)
    state, decisions, others = take_put_right(state, others, at_seconds)
    usual = [span for span in others if _goes_its_usual_way(state, span)]
    if decisions or len(usual) < len(others):
        state = replace(state, correcting=False)  # that was what 'correction' had announced
    is_of_use = any(is_answered(span) for span in usual)
    if usual:
        state, new, _ = _take_spans(state, usual, at_seconds)
        decisions += new
        is_of_use |= state.correcting
    decisions += orders
    if not is_of_use and all(isinstance(decision, Extra) for decision in decisions):
        seconds = at(hearing.end_seconds - hearing.start_seconds)
        return state, [Extra(at_seconds=at_seconds, said="", seconds=seconds, note=WHILE_CORRECTED)]
    return state, decisions


def _fitting(state: MatchState, spans: Sequence[Span], at_seconds: float) -> int:
    return sum(
        puts_right(state, span, at_seconds) is not None or find(state, span) is not None for span in spans
    )


def _goes_its_usual_way(state: MatchState, span: Span) -> bool:
    if not is_attempt_at_stopped(state, span):
        return True
    found = find(state, span)
    return found is not None and not found[0].of(state).differences_from(found[1].slots)


def _may_be_any_short_answer(state: MatchState, hearing: Hearing) -> bool:
    """Whether nothing but a bare 'I said' was heard while something is due: a short answer ('set') sounds no otherwise,
    and whoever disputes says what, and to whom.
    """
    return hearing.text == I_SAID and _is_anything_due(state)


def _nothing(state: MatchState, hearing: Hearing, at_seconds: float) -> tuple[MatchState, list[AnyDecision]]:
    """Nobody's speech, as far as could be heard."""
    if state.correcting and (asked := _ask_for_correction(state, hearing, at_seconds)):
        return asked
    seconds = at(hearing.end_seconds - hearing.start_seconds)
    if seconds <= HESITATION_SECONDS:
        state = _wait_for_the_rest(state, at_seconds)
    return state, [Extra(at_seconds=at_seconds, said="", seconds=seconds, note="not a call")]


def _wait_for_the_rest(state: MatchState, at_seconds: float) -> MatchState:
    """Who says 'uh' in the middle of a readback is thinking: the rest is asked for later, but no call has more time."""
    reading = state.clock.reading(at_seconds)
    for index, flow in list(state.open_flows()):
        if any(call.said for call in flow.calls):
            state = state.with_flow(index, replace(flow, answered_listening=reading))
    return state


def _ask_for_correction(
    state: MatchState, hearing: Hearing, at_seconds: float
) -> tuple[MatchState, list[AnyDecision]] | None:
    """Who has just said 'correction' and was not made out is asked for the whole call: a value alone, a while
    after that word, is listened for nowhere.
    """
    target = last_said(state)
    if target is None:
        return None
    state = replace(state, correcting=False)
    return _ask_again(state, hearing, at_seconds, (target,), wording=True)


def _withdraw(state: MatchState, span: Span, at_seconds: float) -> tuple[MatchState, list[AnyDecision]]:
    target = last_said(state)
    if target is None or _is_of_a_stopped_call(state, target):
        return state, [_nobodys(state, span, at_seconds)]
    flow, call = state.flows[target.flow], target.of(state)
    assert call.said is not None
    decision = Withdrawn(at_seconds=at_seconds, step=flow.step, call=call.call.call, said=call.said.text)
    return withdrawn(state, target), [decision]


def _is_of_a_stopped_call(state: MatchState, target: Target) -> bool:
    """Whether a 'disregard' means a call that everything stands still for: one of these was said after `target`."""
    said = target.of(state).said
    return said is not None and any(
        call.said is not None and call.said.place_in_time > said.place_in_time
        for flow in state.flows
        for call in flow.calls
        if (flow.step, call.call.call) in state.stopped_for
    )


def completes_what_is_due(state: MatchState, hearing: Hearing) -> bool:
    """Whether some open flow lacks a call or has a wrong one, and with this hearing none does any more."""
    after, decisions = take_hearing(state, hearing, hearing.end_seconds)
    accepted = any(isinstance(decision, Accepted) for decision in decisions)
    return accepted and _is_anything_due(state) and not _is_anything_due(after)


def agrees_with_what_is_due(state: MatchState, hearing: Hearing) -> bool:
    """Whether every phrase of a hearing is a call that is due, and right in all its values."""
    spans = hearing.best.spans if hearing.best and hearing.clarity == "clear" else ()
    after, decisions = take_hearing(state, hearing, hearing.end_seconds)
    accepted = [decision for decision in decisions if isinstance(decision, Accepted)]
    return (
        bool(accepted)
        and len(accepted) == len(decisions) == len(spans)
        and all(_is_right(after, decision.step, decision.call) for decision in accepted)
    )


def _is_right(state: MatchState, step: str, call: str) -> bool:
    flow = state.flow_of(step)
    said = next((c for c in flow.calls if c.call.call == call), None) if flow else None
    return said is not None and said.said is not None and not said.said.early and not said.differences


def _is_anything_due(state: MatchState) -> bool:
    return not all(flow.finished for _, flow in state.open_flows())


def _while_paused(
    state: MatchState, hearing: Hearing, at_seconds: float, seconds: float
) -> list[AnyDecision]:
    """A session that stands still hears only what is said to the trainer."""
    spans = hearing.best.spans if hearing.best and hearing.clarity == "clear" else ()
    orders, _ = orders_in(state, spans, at_seconds)
    return orders or [Extra(at_seconds=at_seconds, said="", seconds=seconds, note="while paused")]


def _best_fitting(state: MatchState, hearing: Hearing) -> tuple[Span, ...]:
    """Where the same words can be read in several ways, the reading with the most calls that are due; of those with
    equally many, the one with the fewest orders.
    """
    assert hearing.best is not None
    same_words: list[Interpretation] = [i for i in hearing.interpretations if i.text == hearing.best.text]
    return max(same_words, key=lambda reading: _fits(state, reading)).spans


def _fits(state: MatchState, reading: Interpretation) -> tuple[int, int]:
    calls = sum(find(state, span) is not None for span in reading.spans)
    return calls, -sum(span.kind == "control" for span in reading.spans)


def _accept(
    state: MatchState, target: Target, meaning: Meaning, span: Span, at_seconds: float, *, correcting: bool
) -> tuple[MatchState, list[AnyDecision]]:
    flow = state.flows[target.flow]
    call = flow.calls[target.call]
    if call.call.need == "forbidden":
        critical = Critical(
            at_seconds=at_seconds,
            step=flow.step,
            call=call.call.call,
            said=span.text,
            reason=call.call.because or "This must not be said here.",
        )
        return state, [critical]
    before = call.said
    onset = span.start_seconds
    attempt = flow.first_attempt or Attempt(onset, state.clock.reading(onset), flow.base_listening)
    timed_from = replace(flow, base_listening=attempt.base_listening)
    said = Said(
        text=f"{before.text} {span.text}" if before and correcting else span.text,
        slots=meaning.slots,
        onset_seconds=before.onset_seconds if before else attempt.onset_seconds,
        onset_listening=before.onset_listening if before else attempt.onset_listening,
        base_listening=before.base_listening if before else opened_at(state, timed_from, call),
        place_in_time=before.place_in_time if before else state.calls_said,
        early=before.early if before else too_early(state, flow, call),
        asked_for=call.asked_for,
        remarks=(
            *meaning.remarks,
            *call.pattern.remarks(meaning.slots),
            *call.remarks_on(meaning.slots),
            *_correction_remark(before, correcting),
        ),
        corrected=before is not None or correcting,
    )
    call = replace(call, said=said)
    base = flow.base_listening
    if base is not None:
        base = max(base, state.clock.reading(span.end_seconds))
    flow = replace(
        flow.with_call(target.call, call),
        base_listening=base,
        answered_listening=state.clock.reading(at_seconds),
        first_attempt=None,
    )
    state = replace(state.with_flow(target.flow, flow), calls_said=state.calls_said + 1)
    state = _grant(state, target.flow, span.end_seconds - span.start_seconds)
    decisions: list[AnyDecision] = [
        Accepted(
            at_seconds=at_seconds,
            step=flow.step,
            call=call.call.call,
            said=said.text,
            slots=meaning.slots,
            onset_seconds=at(said.onset_seconds),
            corrects=before is not None,
        )
    ]
    if flow.closed:
        decisions.append(settle_call(state, flow, call, at_seconds))
    return state, decisions


def _grant(state: MatchState, said_in: int, seconds: float) -> MatchState:
    """Nobody can say two things at once: the time that one flow's call takes is not held against the other flows."""
    for i, other in list(state.open_flows()):
        if i != said_in and other.base_listening is not None:
            state = state.with_flow(i, replace(other, base_listening=other.base_listening + seconds))
    return state


def _correction_remark(before: Said | None, correcting: bool) -> tuple[str, ...]:
    return () if before is None or correcting else ("say 'correction' before a corrected value",)


def _nobodys(state: MatchState, span: Span, at_seconds: float) -> Extra:
    phrases = phrases_of(span)
    repeated = any(flow.calls[t.call].said for t, flow in candidates(state, phrases))
    too_late = any(flow.closed for _, flow in candidates(state, phrases))
    note = "said before" if repeated else "after its time" if too_late else "belongs to no call"
    seconds = at(span.end_seconds - span.start_seconds)
    return Extra(at_seconds=at_seconds, said=span.text, seconds=seconds, note=note)


def _similar_wording(state: MatchState, hearing: Hearing) -> Target | None:
    """The owed call that own words come nearest to, if near enough."""
    like = calls_like(state, hearing)
    rated = [
        (like[key_of(flow, call)], i, j)
        for i, flow in state.open_flows()
        for j, call in enumerate(flow.calls)
        if call.owed and key_of(flow, call) in like
    ]
    return Target(*max(rated, key=lambda entry: entry[0])[1:]) if rated else None


def _unclear(state: MatchState, hearing: Hearing, at_seconds: float) -> tuple[MatchState, list[AnyDecision]]:
    """Ask for it again; what it may have been is not held against the student."""
    if state.correcting and (asked := _ask_for_correction(state, hearing, at_seconds)):
        return asked
    phrases = {m.phrase for i in hearing.interpretations for s in i.spans for m in s.meanings}
    maybe = tuple(
        target for target, flow in candidates(state, phrases) if flow.open and flow.calls[target.call].owed
    )
    if hearing.best and hearing.best.spans and not maybe:
        corrected = [found[0] for s in hearing.best.spans if (found := _correction_of(state, s))]
        maybe = tuple(target for target in corrected[:1] if state.flows[target.flow].open)
    if not maybe and (similar := _similar_wording(state, hearing)):
        return _ask_again(state, hearing, at_seconds, (similar,), wording=True)
    if not maybe:
        owed = [
            (Target(i, j), c) for i, flow in state.open_flows() for j, c in enumerate(flow.calls) if c.owed
        ]
        # Whoever was asked as often as may be goes on: what is unclear then is the call after it.
        not_given_up = [target for target, c in owed if c.unclear <= state.settings.most_asks]
        maybe = tuple(not_given_up[:1] or [target for target, _ in owed[:1]])
    short = maybe[:1] and is_short_again(state, state.flows[maybe[0].flow], maybe[0].of(state), hearing)
    return _ask_again(state, hearing, at_seconds, maybe, wording=bool(short), reason=UNCLEAR)


def _may_ask(state: MatchState, target: Target) -> bool:
    return target.of(state).asked_again < state.settings.most_asks


def _correction_of(state: MatchState, span: Span) -> tuple[Target, Meaning] | None:
    is_correction = span.kind == "call" and span.words[0].text == CORRECTION
    return corrected_call(state, span) if is_correction else None


def _ask_again(
    state: MatchState,
    hearing: Hearing,
    at_seconds: float,
    targets: tuple[Target, ...],
    *,
    wording: bool,
    reason: str = OWN_WORDS,
) -> tuple[MatchState, list[AnyDecision]]:
    seconds = at(hearing.end_seconds - hearing.start_seconds)
    if not targets:
        return state, [Extra(at_seconds=at_seconds, said="", seconds=seconds, note="unclear")]
    asks_left = False
    for target in targets:
        flow = state.flows[target.flow]
        call = flow.calls[target.call]
        asks_left |= _may_ask(state, target)
        in_part = reason == IN_PART
        call = replace(call, in_part=call.in_part + in_part, unclear=call.unclear + (not in_part))
        state = state.with_flow(target.flow, flow.with_call(target.call, call))
    index = targets[0].flow
    flow = state.flows[index]
    onset = hearing.best.spans[0].start_seconds if hearing.best else hearing.start_seconds
    attempt = Attempt(onset, state.clock.reading(onset), flow.base_listening)
    if flow.base_listening is not None:  # what comes next is timed from here, or from the end of the question
        end = state.clock.reading(hearing.end_seconds)
        flow = replace(flow, base_listening=max(flow.base_listening, end))
    state = _grant(state.with_flow(index, flow), index, seconds)
    if not asks_left:
        return state, [Extra(at_seconds=at_seconds, said="", seconds=seconds, note="unclear")]
    flow = replace(flow, first_attempt=flow.first_attempt or attempt)
    state = state.with_flow(index, flow)
    call = flow.calls[targets[0].call]
    words = f"{call.said.text if call.said else ''} {hearing.text if reason != UNCLEAR else ''}".split()
    ask = AskAgain(
        at_seconds=at_seconds,
        step=flow.step,
        reason=reason,
        wording=" ".join(call.pattern.outline(words)) if wording else None,
    )
    return state, [ask]
