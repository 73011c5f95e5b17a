"""What a recogniser made of one utterance: the first of the four contracts.

Every engine fills the same `Hearing`, and the journal keeps it whole. Nothing in it depends on the value that
a drill expects: the same audio gives the same words and slots whichever value is wanted.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from pydantic import BaseModel, ConfigDict

SpanKind = Literal["call", "trade", "control", "other"]
"""call: worded as a call of the drill; trade: a common sentence of the trade outside the drill; control: said
to the trainer ('trainer, freeze'); other: words that are none of these."""

NOT_KEPT = "..."
"""Stands in a journal for words that were nobody's phrase: they were said, from when to when, and no more."""


class Frozen(BaseModel):
    """Base of every record that goes into a journal: immutable, without unknown fields, and no number
    that JSON can't hold."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class HeardWord(Frozen):
    """One word with its place on the session clock."""

    text: str
    start_seconds: float
    end_seconds: float


class Meaning(Frozen):
    """One way to understand a span: which phrase it is, and the value of each of its slots.

    `phrase` is the opened pattern's text (`Pattern.opened().text`), `slots` maps slot keys to canonical texts,
    `remarks` are remarks on style ('grouped digits: say three three three').
    """

    phrase: str
    slots: dict[str, str] = {}
    remarks: tuple[str, ...] = ()


class Span(Frozen):
    """A stretch of words that belong together.

    `meanings` holds one entry, more where the very same words are two phrases of the drill, none where the
    words are nobody's phrase (`kind` other).
    """

    kind: SpanKind
    words: tuple[HeardWord, ...]
    meanings: tuple[Meaning, ...] = ()

    @property
    def text(self) -> str:
        """The words of the span, joined by blanks."""
        return " ".join(word.text for word in self.words)

    @property
    def start_seconds(self) -> float:
        """Where the first word begins on the session clock."""
        return self.words[0].start_seconds

    @property
    def end_seconds(self) -> float:
        """Where the last word ends on the session clock."""
        return self.words[-1].end_seconds


class Interpretation(Frozen):
    """One reading of the whole utterance; `log_likelihood` in nats, None where the engine has none."""

    spans: tuple[Span, ...]
    log_likelihood: float | None = None

    @property
    def text(self) -> str:
        """All words of the utterance, joined by blanks."""
        return " ".join(span.text for span in self.spans)


Clarity = Literal["clear", "unclear", "not a call"]
"""clear: may be graded, right or wrong; unclear: ask again; not a call: silence, noise or somebody else."""


class Hearing(Frozen):
    """All that was heard in one utterance.

    `interpretations` are ranked, best first; none when nothing was recognised. `margin` is how far the best
    is ahead of the best one of *different meaning*, `gap` how far free speech is ahead of the best one: both
    in nats as the engine counts them, None where it cannot tell. `clarity` is what the engine's own
    calibrated thresholds say of the two.
    """

    start_seconds: float
    end_seconds: float
    interpretations: tuple[Interpretation, ...] = ()
    margin: float | None = None
    gap: float | None = None
    clarity: Clarity
    engine: str
    like: dict[str, float] = {}
    """Where words were not kept: the calls whose wording they all were like, 'step: call', and how much (0..100)."""

    @property
    def best(self) -> Interpretation | None:
        """The best interpretation, if there is one."""
        return self.interpretations[0] if self.interpretations else None

    @property
    def text(self) -> str:
        """The words of the best interpretation, '' where nothing was recognised."""
        return self.best.text if self.best else ""

    @property
    def words(self) -> tuple[HeardWord, ...]:
        """The words of the best interpretation, () where there is none."""
        return tuple(word for span in self.best.spans for word in span.words) if self.best else ()

    @property
    def kept_whole(self) -> bool:
        """Whether every word of the best interpretation is there, none `NOT_KEPT`."""
        spans = self.best.spans if self.best else ()
        return all(word.text != NOT_KEPT for span in spans for word in span.words)

    def moved(self, by_seconds: float) -> Hearing:
        """The same hearing, so much later in time."""
        return self.with_times(lambda seconds: seconds + by_seconds)

    def with_times(self, change: Callable[[float], float]) -> Hearing:
        """The same hearing with every moment in it put through `change`."""
        return self.model_copy(
            update={
                "start_seconds": change(self.start_seconds),
                "end_seconds": change(self.end_seconds),
                "interpretations": tuple(_changed(reading, change) for reading in self.interpretations),
            }
        )


def _changed(reading: Interpretation, change: Callable[[float], float]) -> Interpretation:
    spans = (
        span.model_copy(
            update={
                "words": tuple(
                    HeardWord(
                        text=word.text,
                        start_seconds=change(word.start_seconds),
                        end_seconds=change(word.end_seconds),
                    )
                    for word in span.words
                )
            }
        )
        for span in reading.spans
    )
    return reading.model_copy(update={"spans": tuple(spans)})
