"""A track put together: every line, gap and pause one after the other, with the time of each."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from voice_trainer.audio.effects import normalise
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.audio.tones import tone
from voice_trainer.tracks.pacing import Answer, Pace, gap_seconds
from voice_trainer.tracks.script import CAUTION, CAUTION_CHAPTER, FlowScript
from voice_trainer.voices.casting import Role

BETWEEN_LINES_SECONDS = 0.6
BETWEEN_FLOWS_SECONDS = 2.0
"""A student goes over what was just heard (ours)."""

BEFORE_TONE_SECONDS = 0.3
MOST_SECONDS = 2 * 3600.0
MOST_FLOWS = 250
"""The chapter list of an M4A file counts to 255."""

SegmentKind = Literal["caution", "lead-in", "tone", "gap", "answer", "pause"]


class TooLongError(Exception):
    """More than one track may hold: one line."""


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of the track: who says what in it, for which call. Nobody speaks in a gap and in a pause."""

    kind: SegmentKind
    start_seconds: float
    end_seconds: float
    drill: str = ""
    step: str = ""
    call: str = ""
    expect: str = ""
    speaker: str = ""
    text: str = ""


@dataclass(frozen=True, slots=True)
class Chapter:
    """A named stretch of the track, for the player's list."""

    title: str
    start_seconds: float
    end_seconds: float


@dataclass(frozen=True, slots=True)
class Track:
    """Mono PCM at 16 kHz, shape (n,), and what is where in it; `left_out` flows no longer had a place."""

    samples: Samples
    segments: tuple[Segment, ...]
    chapters: tuple[Chapter, ...]
    left_out: int = 0

    @property
    def seconds(self) -> float:
        """How long it is."""
        return len(self.samples) / SAMPLE_RATE_HZ


class _Tape:
    def __init__(self) -> None:
        self.parts: list[Samples] = []
        self.segments: list[Segment] = []
        self.count = 0

    @property
    def seconds(self) -> float:
        return self.count / SAMPLE_RATE_HZ

    def add(self, kind: SegmentKind, samples: Samples, **about: str) -> None:
        start = self.seconds
        self.parts.append(samples)
        self.count += len(samples)
        self.segments.append(Segment(kind, start, self.seconds, **about))

    def take(self, other: _Tape) -> None:
        """Add all that is on another tape."""
        at = self.count / SAMPLE_RATE_HZ
        self.parts += other.parts
        self.count += other.count
        for each in other.segments:
            self.segments.append(_later(each, at))


def assemble(
    flows: Iterable[FlowScript],
    clip: Callable[[Role, str], Samples],
    pace: Pace,
    most_seconds: float | None = None,
    on_flow: Callable[[FlowScript, float], None] = lambda flow, seconds: None,
) -> Track:
    """The track of `flows`, in order, after the caution; `on_flow` is told of each and when it begins.

    `clip` speaks a text as somebody. With `most_seconds`, flows from the first on that no longer fits are left out, but
    never all. Raises TooLongError beyond MOST_SECONDS or MOST_FLOWS, and whatever `clip` raises.
    """
    tape = _Tape()
    _say(tape, "caution", clip, "instructor", CAUTION)
    tape.add("pause", silence(BETWEEN_FLOWS_SECONDS))
    chapters = [Chapter(CAUTION_CHAPTER, 0.0, tape.seconds)]
    waiting = list(flows)
    for number, flow in enumerate(waiting):
        part = _flow(flow, clip, pace)
        whole = tape.seconds + part.seconds
        if most_seconds is not None and number > 0 and whole > min(most_seconds, MOST_SECONDS):
            return _track(tape, chapters, len(waiting) - number)
        if whole > MOST_SECONDS or number >= MOST_FLOWS:
            raise TooLongError(
                f"the track is longer than {MOST_SECONDS / 3600:.0f} hours or {MOST_FLOWS} flows; name fewer items"
            )
        on_flow(flow, tape.seconds)
        start = tape.seconds
        tape.take(part)
        chapters.append(Chapter(flow.chapter, start, tape.seconds))
    return _track(tape, chapters, 0)


def silence(seconds: float) -> Samples:
    """So many seconds of nothing."""
    return np.zeros(round(seconds * SAMPLE_RATE_HZ), np.int16)


def _track(tape: _Tape, chapters: list[Chapter], left_out: int) -> Track:
    return Track(np.concatenate(tape.parts), tuple(tape.segments), tuple(chapters), left_out)


def _flow(flow: FlowScript, clip: Callable[[Role, str], Samples], pace: Pace) -> _Tape:
    tape = _Tape()
    where = {"drill": flow.drill, "step": flow.step}
    for number, (speaker, text) in enumerate(flow.lead_in):
        if number > 0:
            tape.add("pause", silence(BETWEEN_LINES_SECONDS), **where)
        _say(tape, "lead-in", clip, speaker, text, **where)
    tape.add("pause", silence(BEFORE_TONE_SECONDS), **where)
    tape.add("tone", tone("listening"), **where)  # lead-ins have several lines: this one was the last
    clips = [normalise(clip("student", each.text)) for each in flow.answers]
    answers = [
        Answer(len(each.text.split()), len(spoken) / SAMPLE_RATE_HZ)
        for each, spoken in zip(flow.answers, clips, strict=True)
    ]
    tape.add("gap", silence(gap_seconds(answers, pace)), **where)
    for number, (each, spoken) in enumerate(zip(flow.answers, clips, strict=True)):
        if number > 0:
            tape.add("pause", silence(BETWEEN_LINES_SECONDS), **where)
        tape.add(
            "answer", spoken, **where, call=each.call, expect=each.pattern, speaker="student", text=each.text
        )
    tape.add("pause", silence(BETWEEN_FLOWS_SECONDS), **where)
    return tape


def _say(
    tape: _Tape,
    kind: SegmentKind,
    clip: Callable[[Role, str], Samples],
    speaker: Role,
    text: str,
    **about: str,
) -> None:
    tape.add(kind, normalise(clip(speaker, text)), speaker=speaker, text=text, **about)


def _later(segment: Segment, seconds: float) -> Segment:
    return replace(
        segment,
        start_seconds=segment.start_seconds + seconds,
        end_seconds=segment.end_seconds + seconds,
    )
