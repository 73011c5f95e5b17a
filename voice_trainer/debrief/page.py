"""The debrief as one page: a `Document` (`debrief.document`), laid out in the frame of every page (`pages.frame`)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from markupsafe import Markup

from voice_trainer.debrief.document import Document, document_of
from voice_trainer.debrief.flown import flown_path
from voice_trainer.debrief.plots import profile_svg, track_svg
from voice_trainer.debrief.report import CORRECTIONS_SHOWN, Debrief
from voice_trainer.debrief.timeline import spoken_in, strips
from voice_trainer.debrief.wording import SIGNS, clock, earned
from voice_trainer.grading.interventions import STOPPED_REMARKS
from voice_trainer.journal.events import AnyDecision, AnyFact
from voice_trainer.pages.frame import rendered

GENERATOR = "voice_trainer debrief"
"""The page says that it is one of ours, so that no other file is ever written over."""

MOST_WORD_PAIRS = 80


@dataclass(frozen=True, slots=True)
class Clip:
    """A sound that lies in the page: when it began, how long it is, and its data URI.

    `repeated`: it lies in the page already, at another call that was said in the same breath.
    """

    start_seconds: float
    seconds: float
    uri: str
    repeated: bool = False


@dataclass(frozen=True, slots=True)
class Sounds:
    """What can be listened to: kept utterances and right calls by (step, call), and kept sound of no call."""

    said: Mapping[tuple[str, str], Sequence[Clip]] = field(default_factory=dict)
    answers: Mapping[tuple[str, str], Clip] = field(default_factory=dict)
    others: Sequence[Clip] = ()


def page_of(debrief: Debrief, records: Sequence[AnyFact | AnyDecision], sounds: Sounds | None = None) -> str:
    """The page's HTML. The same journal and sounds give the same text."""
    document = document_of(debrief)
    spoken = spoken_in(records)
    path = flown_path(debrief.drill, document, records)
    content = {
        "document": document,
        "held_scores": document.reviewed or document.scores,
        "steps": _steps(document),
        "by_call": {(call.step, call.call): call for call in document.calls},
        "strips": strips(document, spoken),
        "spoken": spoken,
        "first_corrections": CORRECTIONS_SHOWN,
        "notes": debrief.notes(),
        "sounds": sounds or Sounds(),
        "track": Markup(track_svg(path)) if path else None,
        "profile": Markup(profile_svg(path)) if path else None,
        "path": path,
        "deviations": debrief.deviations,
        "has_limits": bool(debrief.drill.segments),
        "most_pairs": MOST_WORD_PAIRS,
        "stopped_remarks": STOPPED_REMARKS,
        "signs": SIGNS,
    }
    filters = {"clock": clock, "earned": earned, "percent": _percent}
    return rendered("voice_trainer.debrief", GENERATOR, content, filters)


def _steps(document: Document) -> list[tuple[str, str]]:
    """The steps that have calls, with their flows' names."""
    return list(dict.fromkeys((call.step, call.flow) for call in document.calls))


def _percent(value: float | None) -> str:
    return "–" if value is None else f"{value:.0f} %"
