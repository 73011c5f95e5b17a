"""What of a hearing is written down: of speech that is no call only when it was, and how long.

Theory of operation
-------------------
The sequencer puts every hearing through `what_is_kept` before the matcher and the journal see it, so both know the same
and a replay has nothing to find out that the live session knew. The grade is what it would have been:

- Of a hearing that is no call, and of one while the session is frozen in which nobody speaks to the trainer, nothing is
  left but its two times. The matcher looks at nothing else there.
- Words that are nobody's phrase, in any reading of the same words, give way to `NOT_KEPT`, a run of them to one. The
  matcher reads such words only to find own words for a call, or a part of one that is due. So they stay where no call
  was heard and all that was said is like one, or such a part; and where a call was heard, `Hearing.like` keeps what
  they were like, not what they were.
- Behind 'correction' every word may be a part of a call: they stay.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from rapidfuzz import fuzz

from voice_trainer.grading.fragments import is_part_of
from voice_trainer.grading.state import CallState, FlowState, MatchState
from voice_trainer.journal.hearing import NOT_KEPT, HeardWord, Hearing, Interpretation, Span
from voice_trainer.phraseology.corrections import CORRECTION

SIMILAR_WORDING = 75.0
"""Own words at least this like a call's wording (0..100, RapidFuzz's ratio) are asked for again, with the
wording shown, but not its values; never taken for the call."""


def calls_like(state: MatchState, hearing: Hearing) -> dict[str, float]:
    """The calls of the drill that all that was said is like, by `key_of`, and how much (0..100).

    It is, where the wording is alike, or where the call's values are there and a word of it.
    """
    if not hearing.kept_whole:
        return hearing.like
    text = hearing.text
    rated = (
        (
            max(fuzz.ratio(text, " ".join(words)) for words in (call.pattern.spoken(), call.pattern.brief())),
            flow,
            call,
        )
        for flow in state.flows
        for call in flow.calls
    )
    return {
        key_of(flow, call): score
        for score, flow, call in rated
        if score >= SIMILAR_WORDING or call.pattern.is_near(text.split())
    }


def key_of(flow: FlowState, call: CallState) -> str:
    """How a call is named in `Hearing.like`."""
    return f"{flow.step}: {call.call.call}"


def what_is_kept(state: MatchState, hearing: Hearing) -> Hearing:
    """The hearing as it goes into the journal; one that has been through this before is not changed."""
    paused = "paused" in state.clock.reasons
    if state.correcting and not paused:
        return hearing
    to_the_trainer = hearing.best is not None and any(span.kind == "control" for span in hearing.best.spans)
    if hearing.best is None or hearing.clarity == "not a call" or (paused and not to_the_trainer):
        return hearing.model_copy(update={"interpretations": (), "margin": None, "gap": None})
    # What else the clear words of a hearing may have been, with other words, tells too much of them.
    readings = [r for r in hearing.interpretations if hearing.clarity == "unclear" or r.text == hearing.text]
    gone = {r.text: _nobodys(same for same in readings if same.text == r.text) for r in readings}
    if not any(gone.values()) or CORRECTION in hearing.text.split():
        return hearing
    like = calls_like(state, hearing)
    if not any(span.kind == "call" for reading in readings for span in reading.spans):
        words = hearing.text.split()
        if like or any(is_part_of(call, words) for _, flow in state.open_flows() for call in flow.calls):
            return hearing
    kept = tuple(_without(reading, gone[reading.text]) for reading in readings)
    return hearing.model_copy(update={"interpretations": kept, "like": like})


def _nobodys(readings: Iterable[Interpretation]) -> frozenset[int]:
    """The places of the words that belong to no phrase in any of these readings of the same words."""
    places = [
        frozenset(
            index
            for index, (kind, _) in enumerate((s.kind, word) for s in reading.spans for word in s.words)
            if kind == "other"
        )
        for reading in readings
    ]
    return frozenset.intersection(*places)


def _without(reading: Interpretation, places: frozenset[int]) -> Interpretation:
    spans: list[Span] = []
    first = 0
    for span in reading.spans:
        gone = [first + index in places for index in range(len(span.words))]
        first += len(span.words)
        spans.append(span.model_copy(update={"words": _blotted(span.words, gone)}) if any(gone) else span)
    return reading.model_copy(update={"spans": tuple(spans)})


def _blotted(words: tuple[HeardWord, ...], gone: list[bool]) -> tuple[HeardWord, ...]:
    left: list[HeardWord] = []
    for is_gone, run in groupby(zip(gone, words, strict=True), key=lambda pair: pair[0]):
        group = [word for _, word in run]
        if is_gone:
            first, last = group[0], group[-1]
            group = [
                HeardWord(text=NOT_KEPT, start_seconds=first.start_seconds, end_seconds=last.end_seconds)
            ]
        left += group
    return tuple(left)
