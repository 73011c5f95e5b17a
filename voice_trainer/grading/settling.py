"""From what is known of a call to its verdict, with the reason in one sentence."""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.grading.order import out_of_place
from voice_trainer.grading.state import CallState, FlowState, MatchState
from voice_trainer.grading.windows import on_time_until
from voice_trainer.journal.events import FlowClosed, Settled, at
from voice_trainer.journal.verdicts import Verdict
from voice_trainer.phraseology.opposites import NOT
from voice_trainer.phraseology.slots import slot_type

LOST_A_WORD_SECONDS = 0.2
"""From this much lost sound on, all together, a call may have been in it (ours)."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict and its reason."""

    verdict: Verdict
    reason: str
    late_seconds: float | None = None


def settle_flow(state: MatchState, flow: FlowState, at_seconds: float) -> list[Settled | FlowClosed]:
    """The verdicts of a flow that is over; optional and forbidden calls that were not said have none."""
    misplaced = _misplaced(flow)
    decisions: list[Settled | FlowClosed] = [
        settle_call(state, flow, call, at_seconds, misplaced)
        for call in flow.calls
        if call.call.need == "required" or (call.said and call.call.need == "optional")
    ]
    said = sorted((c for c in flow.calls if c.said), key=lambda c: c.said.place_in_time if c.said else 0)
    order = tuple(c.call.call for c in said if c.call.need == "required")
    decisions.append(
        FlowClosed(at_seconds=at(at_seconds), step=flow.step, strict=flow.flow.order == "strict", order=order)
    )
    return decisions


def settle_call(
    state: MatchState,
    flow: FlowState,
    call: CallState,
    at_seconds: float,
    misplaced: dict[str, str] | None = None,
) -> Settled:
    """The verdict of one call; `misplaced` maps the calls out of order to the reason."""
    judgement = _judge(state, flow, call, _misplaced(flow) if misplaced is None else misplaced)
    said = call.said
    reason = judgement.reason
    if judgement.verdict != "correct" and call.call.because:
        reason = f"{reason} {call.call.because}"
    return Settled(
        at_seconds=at(at_seconds),
        step=flow.step,
        call=call.call.call,
        need=call.call.need,
        verdict=judgement.verdict,
        expected=" ".join(call.pattern.spoken()),
        said=said.text if said else "",
        onset_seconds=at(said.onset_seconds) if said else None,
        late_seconds=judgement.late_seconds,
        reason=reason,
        remarks=(*(said.remarks if said else ()), *_order_remark(flow, call), *call.remarks),
        corrected=said.corrected if said else False,
    )


def _misplaced(flow: FlowState) -> dict[str, str]:
    if flow.flow.order != "strict":
        return {}
    said = sorted(
        (call.said.place_in_time, i)
        for i, call in enumerate(flow.calls)
        if call.said and call.call.need == "required"
    )
    places = [i for _, i in said]
    found: dict[str, str] = {}
    for place in out_of_place(places):
        position = places.index(place)
        passed = next((p for p in places[:position] if p > place), None)
        if passed is not None:
            reason = f"Said after '{flow.calls[passed].call.call}'; it belongs before it."
        else:
            ahead_of = next(p for p in places[position:] if p < place)
            reason = f"Said before '{flow.calls[ahead_of].call.call}'; it belongs after it."
        found[flow.calls[place].call.call] = reason
    return found


def _order_remark(flow: FlowState, call: CallState) -> tuple[str, ...]:
    """A readback may be in any order; its items are usually given as they came. A callsign stands at either end."""
    if flow.flow.order == "strict" or not flow.flow.asks or call.said is None or call.said.asked_for:
        return ()
    items = [c for c in flow.calls if c.said and not c.said.asked_for and not _is_callsign(c)]
    places = {c.call.call: i for i, c in enumerate(items)}
    said = sorted(items, key=lambda c: c.said.place_in_time if c.said else 0)
    moved = out_of_place([places[c.call.call] for c in said])
    if places.get(call.call.call) not in moved:
        return ()
    order = ", ".join(c.call.call for c in items)
    return (f"order: usually as it was given: {order}",)


def _is_callsign(call: CallState) -> bool:
    return call.pattern.phrase.startswith("{callsign") and call.pattern.phrase.endswith("}")


def _judge(state: MatchState, flow: FlowState, call: CallState, misplaced: dict[str, str]) -> Judgement:
    said = call.said
    closing = flow.flow.closing_question
    if call.disputed:
        return Judgement("disputed", "You say that you said it: not counted.")
    if said is None:
        if call.skipped:
            return Judgement("missed", "Skipped.")
        if call.unclear:
            return Judgement("unclear", "Something was said here that could not be made out: not counted.")
        if flow.lost_seconds >= LOST_A_WORD_SECONDS - 1e-9:
            return Judgement("unclear", "Sound was lost while this was due: not counted.")
        if call.asked_for:
            asked = "when it was asked for" if closing is None else f"when asked: '{closing}'"
            return Judgement("missed", f"Left out, and not given {asked}.")
        if call.withdrawn:
            return Judgement("missed", "Withdrawn, and not said again.")
        return Judgement("missed", "Not said.")
    if differences := call.differences:
        left_out = all(d.heard is None for d in differences)
        reason = " ".join(_difference(d.type, d.expected, d.heard) for d in differences)
        return Judgement("incomplete" if left_out else "wrong value", reason)
    if said.asked_for:
        asked = "when it was asked for" if closing is None else f"when asked: '{closing}'"
        return Judgement("incomplete", f"Given only {asked}.")
    if call.call.call in misplaced:
        return Judgement("out of order", misplaced[call.call.call])
    if said.early:
        opens = f": it belongs after '{call.call.window.opens}'" if call.call.window.opens else ""
        return Judgement("early", f"Said before its time{opens}.")
    if said.base_listening is None:
        return Judgement("correct", "Right, before the cue had ended.")
    after = said.onset_listening - said.base_listening
    # Journals count milliseconds: what is less is arithmetic, not lateness.
    beyond = round(said.onset_listening - on_time_until(state, call, said.base_listening), 3)
    if beyond > 0:
        allowed = after - beyond
        return Judgement("late", f"Begun after {after:.1f} seconds; {allowed:.0f} were allowed.", beyond)
    corrected = "Corrected, and right" if said.corrected else "Right"
    return Judgement("correct", f"{corrected}, after {max(after, 0.0):.1f} seconds.")


def _difference(type_name: str, expected: str, heard: str | None) -> str:
    if type_name == NOT and heard is not None:
        return "'not' was left out." if expected == NOT else "'not' was said; it does not belong there."
    if "/" in type_name or type_name == NOT:
        want, got = expected, heard
    else:
        kind = slot_type(type_name)
        want, got = kind.describe(expected), None if heard is None else kind.describe(heard)
    return (
        f"The {_label(type_name)} is missing: it is {want}." if got is None else f"Said {got}; it is {want}."
    )


def _label(type_name: str) -> str:
    return "word" if "/" in type_name or type_name == NOT else slot_type(type_name).label
