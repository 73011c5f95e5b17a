"""What a student takes back: 'correction' and a call again, or a part of it, and 'disregard'.

A bare value or a part of a call belongs to the call said last that it fits: one that has such a part, and whose
value has the same form ('three one zero' after '311', not after '2600'). Where that call had this very value
already, an earlier one that it puts right is meant. 'disregard' withdraws the call said last. What is taken back
in the same breath is never flown.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from voice_trainer.grading.finding import Target, find
from voice_trainer.grading.state import CallState, MatchState
from voice_trainer.journal.hearing import Meaning, Span
from voice_trainer.phraseology.corrections import CORRECTION, DISREGARD
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.pattern import Pattern


@dataclass(frozen=True, slots=True)
class Saying:
    """A span as it is meant. `corrected`: the student has put it right in the same breath."""

    span: Span
    kind: Literal["said", "correction", "disregard"] = "said"
    corrected: bool = False


@dataclass(frozen=True, slots=True)
class _Fit:
    """A call as it was said, and as it is once the correction is made."""

    before: dict[str, str]
    after: dict[str, str]
    remarks: tuple[str, ...]
    puts_right: bool

    @property
    def changes(self) -> bool:
        return self.after != self.before

    @property
    def same_form(self) -> bool:
        """Whether the corrected values look like those that they replace."""
        changed = [key for key in self.after.keys() & self.before.keys() if key not in OPPOSITES]
        return not self.remarks and all(len(self.after[key]) == len(self.before[key]) for key in changed)


def as_meant(state: MatchState, spans: Sequence[Span], *, correcting: bool) -> tuple[list[Saying], bool]:
    """The spans of one utterance without what it takes back itself, and whether it ends with a bare 'correction'.

    `correcting`: the utterance before ended so.
    """
    sayings: list[Saying] = []
    for span in _without_begun_anew(spans):
        if span.text == CORRECTION:
            correcting = True
        elif span.text == DISREGARD:
            taken_back = next((i for i in reversed(range(len(sayings))) if _is_call(state, sayings[i])), None)
            if taken_back is None:
                sayings.append(Saying(span, "disregard"))
            else:
                del sayings[taken_back]
            correcting = False
        elif span.kind != "control" and (correcting or span.words[0].text == CORRECTION):
            _correct_in_place(state, sayings, span)
            correcting = False
        else:
            sayings.append(Saying(span))
    return sayings, correcting


def _without_begun_anew(spans: Sequence[Span]) -> Iterator[Span]:
    """A call that was begun, and then said whole, is one: 'holding short, holding short of runway one five'."""
    begun: Span | None = None
    for span in spans:
        if begun is not None and begun.kind == span.kind == "call" and span.text.startswith(f"{begun.text} "):
            begun = span.model_copy(update={"words": (*begun.words, *span.words)})
            continue
        if begun is not None:
            yield begun
        begun = span
    if begun is not None:
        yield begun


def corrected_call(state: MatchState, span: Span) -> tuple[Target, Meaning] | None:
    """The call said before that `span`, a correction, puts right, and what it says now."""
    said = sorted(
        (
            (call.said.place_in_time, Target(i, j))
            for i, flow in enumerate(state.flows)
            for j, call in enumerate(flow.calls)
            if call.said is not None and not call.stopped_for
        ),
        key=lambda entry: -entry[0],
    )
    fits: list[tuple[Target, _Fit]] = []
    for _, target in said:
        call = target.of(state)
        assert call.said is not None
        fit = _fit(call, call.said.slots, span)
        if fit is not None:
            fits.append((target, fit))
    index = _meant([fit for _, fit in fits])
    if index is None:
        return None
    target, fit = fits[index]
    return target, Meaning(phrase=target.of(state).pattern.phrase, slots=fit.after, remarks=fit.remarks)


def corrected_slots(call: CallState, span: Span) -> dict[str, str] | None:
    """The values of `call` after 'correction' and the rest of `span`; None where that is no correction of it."""
    if span.words[0].text != CORRECTION or len(span.words) == 1:
        return None
    fit = _fit(call, call.said.slots if call.said else {}, span)
    return fit.after if fit else None


def without_correction(state: MatchState, span: Span) -> Span:
    """A correction of something that has not been said yet, as the calls that it may be."""
    words = span.words[1:] if span.words[0].text == CORRECTION and len(span.words) > 1 else span.words
    texts = [word.text for word in words]
    meanings: dict[str, Meaning] = {}
    for flow in state.flows:
        for call in flow.calls:
            for pattern in (call.pattern, *((call.answer,) if call.answer else ())):
                match = pattern.match(texts)
                if match is not None:
                    phrase = pattern.phrase
                    meanings.setdefault(
                        phrase, Meaning(phrase=phrase, slots=match.slots, remarks=match.remarks)
                    )
    return span.model_copy(update={"words": words, "meanings": tuple(meanings.values())})


def last_said(state: MatchState) -> Target | None:
    """The call of an open flow that was said last."""
    said = [
        (call.said.place_in_time, i, j)
        for i, flow in state.open_flows()
        for j, call in enumerate(flow.calls)
        if call.said is not None and not call.stopped_for
    ]
    return Target(*max(said)[1:]) if said else None


def withdrawn(state: MatchState, target: Target) -> MatchState:
    """The state in which a call was not said after all."""
    flow = state.flows[target.flow]
    call = replace(flow.calls[target.call], said=None, withdrawn=True)
    return state.with_flow(target.flow, flow.with_call(target.call, call))


def _is_call(state: MatchState, saying: Saying) -> bool:
    return saying.kind == "said" and saying.span.kind != "control" and find(state, saying.span) is not None


def _correct_in_place(state: MatchState, sayings: list[Saying], span: Span) -> None:
    """Put right a call of the same utterance; where there is none, leave the correction to what was said before."""
    found: list[tuple[int, Meaning, _Fit]] = []
    for index in reversed(range(len(sayings))):
        saying = sayings[index]
        target = find(state, saying.span) if _is_call(state, saying) else None
        if target is not None:
            fit = _fit(target[0].of(state), target[1].slots, span)
            if fit is not None:
                found.append((index, target[1], fit))
    chosen = _meant([fit for _, _, fit in found])
    earlier = corrected_call(state, span)
    if chosen is None or (not found[chosen][2].same_form and earlier is not None):
        sayings.append(Saying(span, "correction"))
        return
    index, meaning, fit = found[chosen]
    old = sayings[index].span
    meant = meaning.model_copy(update={"slots": fit.after, "remarks": fit.remarks})
    joined = old.model_copy(update={"words": (*old.words, *span.words), "meanings": (meant,)})
    sayings[index] = Saying(joined, corrected=True)


def _meant(fits: list[_Fit]) -> int | None:
    """Which of several calls, the last said first, a correction is meant for."""
    if not fits:
        return None
    order = sorted(range(len(fits)), key=lambda i: not fits[i].same_form)
    if fits[order[0]].changes:
        return order[0]
    return next((i for i in order if fits[i].changes and fits[i].puts_right), order[0])


def _fit(call: CallState, before: dict[str, str], span: Span) -> _Fit | None:
    """`call`, said with the values `before`, after the correction; None where it has no such part."""
    part = _part(call.pattern, span)
    if part is None:
        return None
    slots, remarks, whole = part
    after = slots if whole else before | slots
    return _Fit(before, after, remarks, not call.differences_from(after))


def _part(pattern: Pattern, span: Span) -> tuple[dict[str, str], tuple[str, ...], bool] | None:
    """The values that a correction says of a call, remarks on their style, and whether it says the whole call."""
    words = tuple(word.text for word in span.words)
    if words[0] != CORRECTION:
        words = (CORRECTION, *words)
    whole = pattern.match(words[1:])
    if whole is not None:
        return whole.slots, whole.remarks, True
    part = pattern.correction.match(words)
    if part is not None:
        return part.slots, part.remarks, False
    for meaning in span.meanings:  # 'correction, maintain two nine hundred' of a call that says 'descend'
        if span.kind == "trade" and meaning.slots and meaning.slots.keys() <= pattern.expected.keys():
            return dict(meaning.slots), meaning.remarks, False
    return None
