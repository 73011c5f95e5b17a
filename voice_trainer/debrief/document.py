"""A debrief as data: what `debrief --json` and `--csv` write, and what the page is laid out from.

The schema is versioned by `DEBRIEF_SCHEMA`. A new field with a default does not raise it; to remove, rename or mean
something else by a field does.
"""

from __future__ import annotations

from typing import Final, Literal

from pydantic import BaseModel, ConfigDict

from voice_trainer.debrief.report import CAUTION, Debrief
from voice_trainer.drills.model import Call, Step
from voice_trainer.grading.score import POINTS, Grade, Ratio, in_words
from voice_trainer.grading.word_pairs import WordPair, pairs_of_call
from voice_trainer.journal.events import Settled
from voice_trainer.journal.reviewing import Overruling
from voice_trainer.journal.verdicts import Verdict

DEBRIEF_SCHEMA: Final = 1


class Part(BaseModel):
    """Base of every part: immutable, without unknown fields."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Score(Part):
    """`got` of `of` points or pairs; `percent` 0..100 to a tenth, null where nothing counts."""

    got: float
    of: float
    percent: float | None


class Scores(Part):
    """The total and its four part scores, and in words how they come about (see grading/score.py)."""

    total: Score
    completeness: Score
    accuracy: Score
    timing: Score
    order: Score
    in_words: tuple[str, ...]


class Review(Part):
    """An instructor's verdict in place of another one; the last one on a call holds."""

    was: Verdict
    verdict: Verdict
    why: str
    by: str
    at_utc: str


class CallResult(Part):
    """One call of the drill, and what became of it; times are seconds of the session.

    `number` counts the calls of the drill from 1. `verdict` is the trainer's, null where the call was not reached or
    need not have been said; `points` is what it earns, null where it is not counted. `reason` says why, `because` is
    the drill's own arithmetic or rule. `held` is the verdict that holds after the `reviews`.
    """

    number: int
    step: str
    flow: str
    call: str
    need: Literal["required", "optional", "forbidden"]
    verdict: Verdict | None
    points: float | None
    held: Verdict | None
    expected: str
    said: str
    words: tuple[WordPair, ...]
    reason: str
    because: str
    window_opens_seconds: float | None
    window_closes_seconds: float | None
    onset_seconds: float | None
    late_seconds: float | None
    corrected: bool
    remarks: tuple[str, ...]
    reviews: tuple[Review, ...]


class Forbidden(Part):
    """A call that must not be made, and was: reported apart from the score."""

    step: str
    call: str
    said: str
    reason: str
    at_seconds: float


class Correction(Part):
    """What to work on: `costs` points, the most first."""

    step: str
    call: str
    costs: float


class DrillPart(Part):
    """Which drill it was."""

    drill: str
    title: str
    kind: str
    trains: str


class Document(Part):
    """The whole debrief of one session.

    `practised` is false where nothing was said before the session ended: then the scores mean nothing. `ended` is why
    it ended, null where its journal breaks off. `reviewed` are the scores with what instructors overruled, null where
    they did not. `forbidden` are calls that must not be made and were, `extras` how many utterances belonged to no
    call.
    """

    debrief_schema: int = DEBRIEF_SCHEMA
    program: str
    session: str
    student: str
    started_utc: str
    drill: DrillPart
    level: str
    mode: str
    seed: int
    engine: str
    duration_seconds: float
    ended: str | None
    practised: bool
    scores: Scores
    reviewed: Scores | None
    calls: tuple[CallResult, ...]
    corrections: tuple[Correction, ...]
    forbidden: tuple[Forbidden, ...]
    extras: int
    asked_again: int
    pauses: int
    times_sound_was_lost: int
    torn: bool
    caution: str = CAUTION


def document_of(debrief: Debrief) -> Document:
    """The debrief as data."""
    header = debrief.header
    return Document(
        program=header.program,
        session=header.session,
        student=header.student,
        started_utc=header.started_utc,
        drill=DrillPart.model_validate(
            {name: getattr(debrief.drill, name) for name in ("drill", "title", "kind", "trains")}
        ),
        level=header.settings.level,
        mode=header.settings.mode,
        seed=header.settings.seed,
        engine=header.engine,
        duration_seconds=_rounded(debrief.seconds),
        ended=debrief.ended,
        practised=debrief.practised,
        scores=_scores(debrief.grade),
        reviewed=_scores(debrief.reviewed) if debrief.reviewed else None,
        calls=_calls(debrief),
        corrections=tuple(
            Correction(step=each.step, call=each.call, costs=1.0 - (POINTS[each.verdict] or 0.0))
            for each in debrief.corrections()
        ),
        forbidden=tuple(
            Forbidden(
                step=each.step,
                call=each.call,
                said=each.said,
                reason=each.reason,
                at_seconds=_rounded(each.at_seconds),
            )
            for each in debrief.grade.critical
        ),
        extras=len(debrief.grade.extras),
        asked_again=debrief.asked_again,
        pauses=debrief.pauses,
        times_sound_was_lost=debrief.times_lost,
        torn=debrief.torn is not None,
    )


def _scores(grade: Grade) -> Scores:
    names = ("total", "completeness", "accuracy", "timing", "order")
    parts = {name: _score(getattr(grade, name)) for name in names}
    return Scores(**parts, in_words=in_words(grade))


def _score(ratio: Ratio) -> Score:
    percent = None if ratio.percent is None else round(ratio.percent, 1)
    return Score(got=ratio.got, of=ratio.of, percent=percent)


def _calls(debrief: Debrief) -> tuple[CallResult, ...]:
    verdicts = {(each.step, each.call): each for each in debrief.grade.verdicts}
    forbidden = {(each.step, each.call) for each in debrief.grade.critical}
    found: list[CallResult] = []
    number = 0
    for step in debrief.drill.steps:
        for call in step.flow.calls if step.flow else ():
            number += 1
            key = (step.step, call.call)
            settled = verdicts.get(key)
            # Optional calls that were not said, and forbidden ones that were not made, are no news.
            if settled is None and call.need != "required" and key not in forbidden:
                continue
            reviews = tuple(_review(each) for each in debrief.overrulings if (each.step, each.call) == key)
            found.append(_call(debrief, number, step, call, settled, reviews))
    return tuple(found)


def _call(
    debrief: Debrief,
    number: int,
    step: Step,
    call: Call,
    settled: Settled | None,
    reviews: tuple[Review, ...],
) -> CallResult:
    window = debrief.windows.get((step.step, call.call))
    because = call.because or ""
    verdict = settled.verdict if settled else None
    return CallResult(
        number=number,
        step=step.step,
        flow=step.flow.name if step.flow else "",
        call=call.call,
        need=call.need,
        verdict=verdict,
        points=POINTS[verdict] if verdict and call.need == "required" else None,
        held=reviews[-1].verdict if reviews and settled else verdict,
        expected=settled.expected if settled else " ".join(debrief.drill.pattern(call).spoken()),
        said=settled.said if settled else "",
        words=pairs_of_call(debrief.drill, settled) if settled else (),
        reason=settled.reason.removesuffix(because).rstrip() if settled else "",
        because=because,
        window_opens_seconds=_rounded(window.opens_seconds) if window else None,
        window_closes_seconds=_rounded(window.closes_seconds) if window else None,
        onset_seconds=settled.onset_seconds if settled else None,
        late_seconds=settled.late_seconds if settled else None,
        corrected=settled.corrected if settled else False,
        remarks=settled.remarks if settled else (),
        reviews=reviews,
    )


def _review(overruling: Overruling) -> Review:
    fields = ("was", "verdict", "why", "by", "at_utc")
    return Review.model_validate({name: getattr(overruling, name) for name in fields})


def _rounded(seconds: float) -> float:
    return round(seconds, 3)
