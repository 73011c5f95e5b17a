"""The utterances of a journal: what each was decided to be, and the sound of which of them is kept."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from voice_trainer.journal.events import (
    Accepted,
    AnyDecision,
    AnyFact,
    AskAgain,
    Critical,
    Decision,
    Disputed,
    Ended,
    Extra,
    Heard,
    PutRight,
    StepBegan,
)
from voice_trainer.journal.keep import Keep


@dataclass(slots=True)
class Utterance:
    """What was said from `start_seconds` to `end_seconds` of the session: the calls that it was, by step and name."""

    start_seconds: float
    end_seconds: float
    calls: list[tuple[str, str]] = field(default_factory=list)
    unclear: bool = False


def utterances(records: Iterable[AnyFact | AnyDecision]) -> list[Utterance]:
    """Every utterance of a journal, in order, with what it was decided to be; not what was said after its end."""
    found: list[Utterance] = []
    current: Utterance | None = None
    for record in records:
        match record:
            case Heard(hearing=hearing, grown=grown):
                if grown and found:
                    found.pop()
                current = Utterance(hearing.start_seconds, hearing.end_seconds)
                found.append(current)
            case Accepted() | PutRight() | Critical() if current is not None:
                current.calls.append((record.step, record.call))
            case AskAgain() | Extra(note="unclear") if current is not None:
                current.unclear = True
            case Decision():
                pass
            case Ended():
                break
            case _:
                current = None
    return found


def said_for(records: Sequence[AnyFact | AnyDecision], step: str, call: str) -> list[Utterance]:
    """The utterances that a call was said in; where none is known, all since its step began that were no call.

    Up to when it was disputed, if it was: the student means something said before that.
    """
    spoken = utterances(records)
    if known := [each for each in spoken if (step, call) in each.calls]:
        return known
    began = [r.at_seconds for r in records if isinstance(r, StepBegan) and r.step == step]
    disputed = [r.at_seconds for r in records if isinstance(r, Disputed) and (r.step, r.call) == (step, call)]
    if not began:
        return []
    until = disputed[-1] if disputed else float("inf")
    return [
        each
        for each in spoken
        if each.end_seconds >= began[-1] and each.end_seconds <= until and not each.calls
    ]


def to_keep(records: Sequence[AnyFact | AnyDecision], keep: Keep) -> list[Utterance]:
    """The utterances whose sound is kept one by one; of 'all', where everything is kept, every one."""
    if keep == "none":
        return []
    spoken = utterances(records)
    if keep == "all":
        return spoken
    disputed = [
        (each.start_seconds, each.end_seconds)
        for record in records
        if isinstance(record, Disputed)
        for each in said_for(records, record.step, record.call)
    ]
    return [
        each
        for each in spoken
        if each.unclear
        or (each.start_seconds, each.end_seconds) in disputed
        or (keep == "calls" and each.calls)
    ]
