"""The reply to a typed line: one line that says what it was taken for, or why it was nothing.

What may be told
----------------
A reply is made of the records that the sequencer made of the line, and of the matcher's state behind them: nothing
is graded here. It says what was *understood*: which call, with which values. It never says the right value, and
whether a value was the expected one it says only where the session tells it at once anyway: while everything stands
still for a call ('stop and correct'). The stop itself comes a second of silence after the wrong value, as it does out
loud. To tell it sooner would let a student, for whom time waits, correct for full points what nobody else would have
noticed. In 'fly through' the verdicts come when a flow is over, as ever; no level changes what a reply says of a call.

That a call was taken before its time is said, since it tells which call it was taken for, and can't be mended any more.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from voice_trainer.drills.model import Drill
from voice_trainer.grading.interventions import STAND_BY, STAND_BY_SECONDS, WHILE_CORRECTED
from voice_trainer.grading.recognised import IN_PART
from voice_trainer.grading.state import CallState, MatchState
from voice_trainer.journal.events import (
    Accepted,
    AnyDecision,
    AnyFact,
    AskAgain,
    Critical,
    Extra,
    Heard,
    PutRight,
    ToTrainer,
    Withdrawn,
)
from voice_trainer.journal.hearing import Hearing, Span
from voice_trainer.phraseology.corrections import CORRECTION, DISREGARD
from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.opposites import NOT
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.sequencing.answers import PANEL_QUESTIONS
from voice_trainer.session.near_wording import beginning, nearest
from voice_trainer.session.order_replies import order_reply

STANDS_STILL = "everything stands still"
OTHER_WORDS = "words of no call"

OfTheLine = Accepted | AskAgain | Critical | Extra | PutRight | ToTrainer | Withdrawn
"""The decisions that may be about what was said; the others are about time."""


@dataclass(frozen=True, slots=True)
class Line:
    """What a reply is made of.

    `typed` is what was read in the line, with all its words; `records` are those that the sequencer made of it, `heard`
    and what came behind it; `state` is the matcher's then. `finishes`: the session is to end; `cue_given`: something
    has been said that can be said again.
    """

    typed: Hearing
    heard: Heard
    records: Sequence[AnyFact | AnyDecision]
    state: MatchState
    finishes: bool = False
    cue_given: bool = True


def reply_to(line: Line) -> str:
    """What a typed line was taken for, in one line."""
    decisions = [record for record in line.records if isinstance(record, OfTheLine)]
    if not decisions:
        return _nothing_decided(line)
    extras = _spans_of(line, [d for d in decisions if isinstance(d, Extra)])
    begun = _begun(line, decisions)
    facts = Counter(type(record) for record in line.records)
    parts: list[str] = []
    for decision in decisions:
        match decision:
            case ToTrainer():
                parts.append(order_reply(decision, facts, finishes=line.finishes, cue_given=line.cue_given))
            case Extra():
                span = extras.get(id(decision))
                if begun is None or span is None or span.end_seconds <= begun.from_seconds:
                    parts.append(_extra(line, decision, span))
            case AskAgain(wording=wording) if begun is not None:
                parts.append(_beginning(begun))
                parts.append(f"asked to say again, as: {wording}")
            case _:
                parts.append(_call(line.state, decision))
    if begun is not None:
        parts.append(_beginning(begun))
    elif set(parts) == {OTHER_WORDS}:
        near = nearest(line.typed.text.split(), line.state, line.state.settings.trainer_name)
        parts.append(near or "? shows what may be said")
    elif OTHER_WORDS in parts:
        parts = [*(part for part in parts if part != OTHER_WORDS), f"the rest: {OTHER_WORDS}"]
    return "; ".join(dict.fromkeys(parts))


def _call(state: MatchState, decision: Accepted | AskAgain | Critical | PutRight | Withdrawn) -> str:
    """A decision about one call."""
    match decision:
        case Accepted(corrects=corrects, said=said):
            known = _call_state(state, decision.step, decision.call)
            corrected = corrects or CORRECTION in said.split()
            early = known is not None and known.said is not None and known.said.early
            named = _with_values(state, decision.step, decision.call, decision.slots)
            return f"{'corrected' if corrected else 'heard'}: {named}{', before its time' if early else ''}"
        case PutRight():
            return f"put right: {_with_values(state, decision.step, decision.call, decision.slots)}"
        case Withdrawn(step=step, call=call):
            return f"withdrawn: {step}, {call}; it is due again"
        case Critical(step=step, call=call):
            return f"heard: {step}, {call}"
        case AskAgain(reason=reason, wording=wording):
            return f"{reason}: asked to say again{'' if wording is None else f', as: {wording}'}"


def _extra(line: Line, extra: Extra, span: Span | None) -> str:
    """Speech that belongs to no call: what it is instead."""
    state, said, trainer = line.state, extra.said, line.state.settings.trainer_name
    due = any(True for _ in state.open_flows())
    match extra.note:
        case "not a call":
            return "nothing said: there is no word in it"
        case "while paused":
            return f"not listened to: {STANDS_STILL}; '{trainer}, continue' goes on"
        case "unclear":
            return "like a call, but not in its words"
        case note if note == WHILE_CORRECTED:
            return _not_put_right(line)
    if said == STAND_BY:
        return (
            f"{said}: {STAND_BY_SECONDS:.0f} more seconds for what is due"
            if due
            else f"{said}: nothing is due"
        )
    if said == DISREGARD:
        return f"{said}: no call that is due has been said"
    if said.startswith("say again"):
        return f"{said}: asked of the controller"
    if said in PANEL_QUESTIONS:
        return f"{said}: " + (
            "asked of the aeroplane" if state.drill.aeroplane is not None else "there is no aeroplane"
        )
    if span is None or span.kind == "other":
        return OTHER_WORDS
    if span.kind == "control":
        return f"'{said}': an order needs the name here: '{trainer}, {said}'"
    if span.words[0].text == CORRECTION:
        return f"'{said}': no call that is due has such a value"
    if span.kind == "trade":
        return f"'{said}': understood, but no call that is due"
    return f"'{said}': a call, but {'not due now' if extra.note == 'belongs to no call' else extra.note}"


def _not_put_right(line: Line) -> str:
    """Everything stands still for some calls: was this one of them, with other values?"""
    waited_for = line.state.stopped_for
    phrases = {m.phrase for i in line.heard.hearing.interpretations for s in i.spans for m in s.meanings}
    for step, name in waited_for:
        call = _call_state(line.state, step, name)
        if call is not None and {call.pattern.phrase, call.pattern.correction.text} & phrases:
            return f"not right yet: {step}, {name}, with a value or a word that is not the expected one"
    return f"not it: {STANDS_STILL} for {', '.join(f'{step}, {name}' for step, name in waited_for)}"


def _nothing_decided(line: Line) -> str:
    if line.state.correcting:
        return f"{CORRECTION}: what is typed next is taken for it"
    return "understood, but no order that can be given here; ? shows them"


# The words of a line.


@dataclass(frozen=True, slots=True)
class _Begun:
    """Words at the end of a line that only begin a call."""

    from_seconds: float
    text: str
    wants: str


def _beginning(begun: _Begun) -> str:
    return f"only the beginning of a call: '{begun.text} ...' wants {begun.wants}"


def _begun(line: Line, decisions: Sequence[AnyDecision]) -> _Begun | None:
    """What the line ends in the middle of, where its end belongs to no call."""
    last, best = decisions[-1], line.typed.best
    is_nobodys = isinstance(last, Extra) and last.note == "belongs to no call"
    is_in_part = isinstance(last, AskAgain) and last.reason == IN_PART
    if best is None or not (is_nobodys or is_in_part):
        return None
    words = [word for span in best.spans for word in span.words]
    found = beginning([word.text for word in words], line.state)
    if found is None:
        return None
    count, wants = found
    tail = words[-count:]
    return _Begun(tail[0].start_seconds, " ".join(word.text for word in tail), wants)


def _spans_of(line: Line, extras: Sequence[Extra]) -> dict[int, Span]:
    """The span that each of them was made of, as far as one has its words, in their order."""
    found: dict[int, Span] = {}
    for reading in line.heard.hearing.interpretations:
        rest = list(reading.spans)
        for extra in extras:
            at = next((i for i, span in enumerate(rest) if span.text == extra.said), None)
            if at is not None:
                found.setdefault(id(extra), rest[at])
                rest = rest[at + 1 :]
    return found


# The names and values of calls.


def _call_state(state: MatchState, step: str, name: str) -> CallState | None:
    flow = state.flow_of(step)
    return next((c for c in flow.calls if c.call.call == name), None) if flow else None


def _with_values(state: MatchState, step: str, name: str, slots: Mapping[str, str]) -> str:
    values = _values(state.drill, step, name, slots)
    return f"{step}, {name}{': ' if values else ''}{', '.join(values)}"


def _values(drill: Drill, step: str, name: str, slots: Mapping[str, str]) -> list[str]:
    """The values as they were understood, in the order of the wording."""
    flow = drill.step_named(step).flow
    call = next((c for c in flow.calls if c.call == name), None) if flow else None
    if call is None:
        return []
    kinds = {slot.key: slot.type for slot in slots_of(drill.pattern(call).node)}
    shown: list[str] = []
    for key, kind in kinds.items():
        value = slots.get(key)
        if value is None or (kind == NOT and value != NOT):
            continue
        shown.append(
            f"with '{NOT}'"
            if kind == NOT
            else value
            if kind in OPPOSITES
            else slot_type(kind).describe(value)
        )
    return shown
