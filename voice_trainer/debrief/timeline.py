"""When it was said: cues, windows, speech and verdicts, step by step, as stretches of time to be drawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from voice_trainer.debrief.document import CallResult, Document
from voice_trainer.journal.events import AnyDecision, AnyFact, CueEnded, CueStarted, Heard

MARGIN_SECONDS = 1.0
"""Shown before the first and after the last of a step."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """What somebody said, and when, in seconds of the session; the student's words are as they were recognised."""

    start_seconds: float
    end_seconds: float
    who: str
    text: str

    @property
    def by_student(self) -> bool:
        """Whether it is the student's, not one of the trainer's voices."""
        return self.who == "you"


@dataclass(frozen=True, slots=True)
class Strip:
    """The time of one step: what was spoken in it, and its calls with their windows."""

    step: str
    start_seconds: float
    end_seconds: float
    spoken: tuple[Spoken, ...]
    calls: tuple[CallResult, ...]

    def percent(self, seconds: float) -> float:
        """Where a moment lies, 0..100 from the left."""
        place = 100.0 * (seconds - self.start_seconds) / (self.end_seconds - self.start_seconds)
        return round(min(max(place, 0.0), 100.0), 2)

    def width(self, start_seconds: float, end_seconds: float) -> float:
        """How wide a stretch is, in percent."""
        return round(self.percent(end_seconds) - self.percent(start_seconds), 2)


def spoken_in(records: Iterable[AnyFact | AnyDecision]) -> tuple[Spoken, ...]:
    """All that was spoken in a session, in the order in which it began."""
    found: list[Spoken] = []
    sounding: CueStarted | None = None
    for record in records:
        match record:
            case CueStarted():
                sounding = record
            case CueEnded(at_seconds=end) if sounding is not None:
                found.append(Spoken(sounding.at_seconds, end, sounding.speaker, sounding.text))
                sounding = None
            case Heard(hearing=hearing):
                text = hearing.text or "(nothing that could be made out)"
                found.append(Spoken(hearing.start_seconds, hearing.end_seconds, "you", text))
            case _:
                pass
    return tuple(sorted(found, key=lambda each: (each.start_seconds, each.who)))


def strips(document: Document, spoken: Sequence[Spoken]) -> dict[str, Strip]:
    """A strip for each step of which something is known to have happened, by the step's name."""
    steps: dict[str, list[CallResult]] = {}
    for call in document.calls:
        steps.setdefault(call.step, []).append(call)
    found = {step: _strip(step, calls, spoken) for step, calls in steps.items()}
    return {step: strip for step, strip in found.items() if strip is not None}


def _strip(step: str, calls: Sequence[CallResult], spoken: Sequence[Spoken]) -> Strip | None:
    moments = [
        moment
        for call in calls
        for moment in (call.window_opens_seconds, call.window_closes_seconds, call.onset_seconds)
        if moment is not None
    ]
    if not moments:
        return None
    first, last = min(moments), max(moments)
    # The cue that they answer ends where the first window begins.
    cues = [
        each.start_seconds for each in spoken if not each.by_student and _touches(each, first - 0.5, last)
    ]
    said = [each.end_seconds for each in spoken if each.by_student and _touches(each, first, last)]
    start = min([first, *cues]) - MARGIN_SECONDS
    end = max([last, *said]) + MARGIN_SECONDS
    start = max(start, 0.0)
    return Strip(step, start, end, tuple(each for each in spoken if _touches(each, start, end)), tuple(calls))


def _touches(spoken: Spoken, start_seconds: float, end_seconds: float) -> bool:
    return spoken.end_seconds > start_seconds and spoken.start_seconds < end_seconds
