"""The matcher over any sequence of events, possible in a session or not."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.scenes import FLOWN_HEAD, SECONDS_A_WORD
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.matcher import Tick, match
from voice_trainer.grading.replay import replay
from voice_trainer.grading.score import grade, in_words
from voice_trainer.grading.state import expect
from voice_trainer.journal.events import (
    DEVICE_LOST,
    AnyDecision,
    AnyFact,
    CueEnded,
    CueStarted,
    Ended,
    Flown,
    Heard,
    ListeningStarted,
    ListeningStopped,
    Paused,
    Resumed,
    SamplesLost,
    Settings,
    Settled,
    SpeechDropped,
    SpeechEnded,
    SpeechStarted,
    StepBegan,
    from_line,
    to_line,
)
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.typed import hear_text

TURN = {"call": "turn", "say": "turn right [heading] {heading: 333}", "window": {"opens": "passage KLD"}}
DOWN = {"call": "down", "say": "descend [and maintain] {altitude: 2600}"}
SLOW = {"call": "slow", "say": "speed {speed: 110}", "need": "optional", "window": {"closes": "wings level"}}
SIGHT = {"call": "sight", "say": "runway in sight", "need": "forbidden"}
BACK = {"call": "back", "say": "[maintain] {altitude: 2900}", "ask": "say the altitude"}
SIGN = {"call": "sign", "say": "{callsign: Heron 24}"}


@cache
def flown() -> tuple[Drill, Grammar]:
    steps = [
        {"step": "one", "when": "start", "flow": {"calls": [DOWN, TURN, SIGHT]}},
        {
            "step": "two",
            "when": "passage KLD",
            "flow": {"order": "any", "asks": True, "calls": [BACK, SIGN, SLOW]},
        },
        {
            "step": "three",
            "when": "settled",
            "flow": {"closing_question": "Anything else?", "calls": [DOWN, SIGN]},
        },
    ]
    drill = Drill.model_validate(FLOWN_HEAD | {"steps": steps})
    return drill, domain_of(drill)


TEXTS = (
    "turn right 333", "turn right heading 323", "descend 2600", "descend and maintain 2900", "maintain 2900",
    "Heron 24", "Heron 42", "runway in sight", "speed 110", "correction", "correction 333", "correction 2600",
    "correction descend 2600", "disregard", "turn right 323 correction 333", "descend 2900 disregard descend 2600",
    "let me see", "trainer freeze", "say again", "heading heading", "", "turning rightwards heading 333",
)  # fmt: skip

moments = st.floats(0, 30).map(lambda s: round(s, 3))
steps = st.sampled_from(("one", "two", "three"))
kinds = st.sampled_from(
    ("tick", "step", "cue", "cue over", "speech", "dropped", "silence", "heard", "deaf", "listening", "pause", "resume",
     "flown", "heard", "heard", "speech", "step", "lost", "device lost")
)  # fmt: skip
clarities = st.sampled_from(("clear", "clear", "clear", "unclear", "not a call"))
Move = tuple[str, float, str, str, str]
moves = st.tuples(kinds, moments, steps, st.sampled_from(TEXTS), clarities)


def events(moves: Iterable[Move], ends: bool) -> list[AnyFact | Tick]:
    """Facts and ticks in order of time; nothing else about them need be possible."""
    _, grammar = flown()
    now = 0.0
    found: list[AnyFact | Tick] = []
    for kind, after, step, text, clarity in moves:
        now = round(now + after, 3)
        match kind:
            case "tick":
                found.append(Tick(now))
            case "step":
                found.append(StepBegan(at_seconds=now, step=step))
            case "cue":
                found.append(CueStarted(at_seconds=now, cue=step, speaker="controller", text="..."))
            case "cue over":
                found.append(CueEnded(at_seconds=now, cue=step))
            case "speech":
                found.append(SpeechStarted(at_seconds=now, onset_seconds=round(max(0.0, now - 0.2), 3)))
            case "dropped":
                found.append(SpeechDropped(at_seconds=now))
            case "silence":
                found.append(SpeechEnded(at_seconds=now, start_seconds=now, end_seconds=now))
            case "heard":
                hearing = hear_text(text, grammar, max(0.0, now - 2.0), SECONDS_A_WORD)
                hearing = hearing.model_copy(update={"clarity": clarity if hearing.best else "not a call"})
                found.append(Heard(at_seconds=now, hearing=hearing))
            case "deaf":
                found.append(ListeningStopped(at_seconds=now))
            case "listening":
                found.append(ListeningStarted(at_seconds=now))
            case "pause":
                found.append(Paused(at_seconds=now, reason="asked"))
            case "lost":
                found.append(SamplesLost(at_seconds=now, samples=min(512, round(now * 16_000))))
            case "device lost":
                found.append(Paused(at_seconds=now, reason=DEVICE_LOST))
            case "resume":
                found.append(Resumed(at_seconds=now))
            case "flown":
                found.append(
                    Flown(at_seconds=now, name="passage KLD" if step == "one" else "wings level 333")
                )
    if ends:
        found.append(Ended(at_seconds=now, reason="finished"))
    return found


def decided(happened: list[AnyFact | Tick]) -> list[AnyDecision]:
    state = expect(flown()[0], Settings())
    decisions: list[AnyDecision] = []
    for event in happened:
        state, new = match(state, event)
        decisions += new
    return decisions


@settings(max_examples=300)
@given(st.lists(moves, max_size=40), st.booleans())
def test_any_sequence_is_graded_and_its_replay_is_the_same(said: list[Move], ends: bool) -> None:
    happened = events(said, ends)
    live = decided(happened)
    facts = [from_line(to_line(event)) for event in happened if not isinstance(event, Tick)]
    if ends:
        again = replay(flown()[0], Settings(), facts)  # type: ignore[arg-type]
        assert [to_line(d) for d in again] == [to_line(d) for d in live]
    result = grade(flown()[0], live)
    assert all(v.reason.endswith(".") for v in result.verdicts)
    assert in_words(result)


@settings(max_examples=300)
@given(st.lists(moves, max_size=40))
def test_nothing_is_missed_or_late_inside_a_deaf_interval(
    said: list[Move],
) -> None:
    happened = events(said, ends=False)
    deaf: list[tuple[float, float]] = []
    since: float | None = None
    for event in happened:
        if isinstance(event, ListeningStopped) and since is None:
            since = event.at_seconds
        elif isinstance(event, ListeningStarted) and since is not None:
            deaf.append((since, event.at_seconds))
            since = None
    if since is not None:
        deaf.append((since, float("inf")))
    for decision in decided(happened):
        if isinstance(decision, Settled) and decision.verdict == "missed":
            assert not any(start < decision.at_seconds < end for start, end in deaf)
