"""From what was said in a flow to its rating, through a journal's records."""

from __future__ import annotations

import pytest

from tests.logbook.made_journals import BEGIN, RIGHT, Performance, header_of, perform, two_flows
from tests.scenes import Scene, drill_of
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import (
    AnyFact,
    Disputed,
    Ended,
    LevelChanged,
    Paused,
    Resumed,
    Settings,
    WentBack,
)
from voice_trainer.journal.reviewing import Overruling
from voice_trainer.logbook.derivation import entry_of
from voice_trainer.logbook.entries import SessionEntry


def entry(performance: Performance, drill: Drill | None = None, **more: object) -> SessionEntry:
    drill = drill or two_flows()
    scene = perform(drill, performance)
    header = header_of(drill, performance, "s", BEGIN.isoformat())
    return entry_of("s", header, scene.records, **more)  # type: ignore[arg-type]


def told(scene: Scene) -> SessionEntry:
    header = header_of(scene.drill, Performance((), student="Anna"), "s", BEGIN.isoformat())
    return entry_of("s", header.model_copy(update={"settings": scene.settings}), scene.records)


def outcomes(found: SessionEntry) -> dict[str, str | None]:
    return {flow.step: flow.outcome for flow in found.flows}


@pytest.mark.parametrize(
    ("said", "after_seconds", "outcome", "why"),
    [
        (RIGHT[0], 1.0, "easy", "all right and prompt"),
        (RIGHT[0], 2.5, "good", "hesitated: heading, altitude"),  # a quarter of 8 seconds is 2
        (RIGHT[0], 9.0, "hard", "late: heading, altitude"),
        (RIGHT[0][::-1], 1.0, "hard", "out of order: heading"),
        (("turn left heading 300", "maintain 2600"), 1.0, "failed", "wrong value: heading"),
        (("maintain 2600",), 1.0, "failed", "missed: heading"),
        ((), 1.0, "failed", "missed: heading, altitude"),
        (
            ("turn left heading 300", "correction heading 310", "maintain 2600"),
            1.0,
            "good",
            "corrected: heading",
        ),
    ],
)
def test_a_flow_is_rated_by_its_worst_call(
    said: tuple[str, ...], after_seconds: float, outcome: str, why: str
) -> None:
    flow = entry(Performance((said, *RIGHT[1:]), after_seconds)).flows[0]
    assert (flow.outcome, flow.why) == (outcome, why)


def test_a_long_window_gives_no_more_than_three_seconds_to_be_prompt() -> None:
    drill = drill_of(
        {"calls": [{"call": "report", "say": "report established", "window": {"within_seconds": 60}}]}
    )
    by_delay = {
        after: entry(Performance((("report established",),), after), drill).flows[0].outcome
        for after in (2.9, 3.1)
    }
    assert by_delay == {2.9: "easy", 3.1: "good"}


def test_read_along_gives_no_rating() -> None:
    assert outcomes(entry(Performance(RIGHT, level="read along"))) == {"step 1": None, "step 2": None}


def test_the_level_is_that_at_which_the_step_began() -> None:
    scene = Scene(two_flows(), Settings(level="read along"))
    scene.begin("step 1").say_all(RIGHT[0])
    scene.send(LevelChanged(at_seconds=scene.now, level="prompted"))
    scene.begin("step 2").say_all(RIGHT[1]).end()
    assert outcomes(told(scene)) == {"step 1": None, "step 2": "easy"}


def test_disputed_and_unclear_calls_count_against_nobody() -> None:
    scene = Scene(two_flows())
    scene.begin("step 1").say("turn left heading 310").say("maintain 2500").wait(20).tick()
    scene.send(Disputed(at_seconds=scene.now, step="step 1", call="altitude"))
    scene.begin("step 2").say("report established", clarity="unclear").end()
    found = told(scene)
    assert outcomes(found) == {"step 1": "easy", "step 2": None}
    assert [call.verdict for flow in found.flows for call in flow.calls] == ["correct", "disputed", "unclear"]
    assert found.flows[1].why == "nothing in it counts"


def test_a_forbidden_call_fails_the_flow() -> None:
    calls = [*two_flows().model_dump(mode="json")["steps"][0]["flow"]["calls"]]
    calls.append({"call": "wilco", "say": "wilco", "need": "forbidden"})
    drill = drill_of({"order": "any", "calls": calls})
    found = entry(Performance((("wilco", *RIGHT[0]),)), drill)
    assert (found.flows[0].outcome, found.flows[0].why) == ("failed", "said, and forbidden: wilco")


@pytest.mark.parametrize("ended", ["by the student", "again", "end of the input", "device lost", None])
def test_what_the_end_cuts_off_is_no_practice_unless_it_was_wrong_already(ended: str | None) -> None:
    cut = outcomes(entry(Performance((RIGHT[0][:1],), ended=ended)))
    wrong = outcomes(entry(Performance((("turn left heading 300",),), ended=ended)))
    assert (cut, wrong) == ({}, {"step 1": "failed"})
    assert outcomes(entry(Performance((RIGHT[0], ()), ended=ended))) == {"step 1": "easy"}


def test_what_never_began_was_not_practised() -> None:
    scene = Scene(two_flows())
    scene.begin("step 1").say_all(RIGHT[0])
    scene.send(Ended(at_seconds=scene.now, reason="time limit"))
    assert outcomes(told(scene)) == {"step 1": "easy"}


def test_a_session_in_which_nothing_was_said_is_no_practice() -> None:
    assert entry(Performance(((),), ended="by the student")).flows == ()


def test_of_a_step_that_was_gone_back_to_the_last_time_counts() -> None:
    scene = Scene(two_flows())
    scene.begin("step 1").say("turn left heading 300").say("maintain 2600").wait(20).tick()
    scene.send(WentBack(at_seconds=scene.now, step="step 1"))
    scene.begin("step 1").say_all(RIGHT[0]).end("by the student")
    assert outcomes(told(scene)) == {"step 1": "easy"}


def test_an_instructors_verdict_goes_before_the_trainers() -> None:
    overruling = Overruling(
        step="step 1",
        call="heading",
        was="wrong value",
        verdict="correct",
        why="it was 310",
        by="Bo",
        at_utc="2026-01-06T08:00:00+00:00",
    )
    said = Performance((("turn left heading 300", "maintain 2600"), *RIGHT[1:]))
    assert outcomes(entry(said))["step 1"] == "failed"
    assert outcomes(entry(said, overrulings=(overruling,)))["step 1"] == "easy"


def test_pauses_are_no_practice() -> None:
    def lasted(facts: list[AnyFact]) -> float:
        scene = Scene(two_flows())
        scene.begin("step 1")
        for fact in facts:
            scene.send(fact)
        scene.say_all(RIGHT[0])
        scene.send(Ended(at_seconds=scene.now, reason="by the student"))
        return told(scene).seconds

    pause: list[AnyFact] = [
        Paused(at_seconds=3.0, reason="by the student"),
        Resumed(at_seconds=103.0),
    ]
    assert lasted(pause) == pytest.approx(lasted([]) + 1.0)


@pytest.mark.parametrize(
    ("given", "input_", "whose"),
    [("", "typed", ""), ("", "student", "synthetic student"), ("Anna", "student", "Anna")],
)
def test_the_synthetic_students_sessions_are_nobody_elses(given: str, input_: str, whose: str) -> None:
    assert entry(Performance(RIGHT, student=given, input=input_)).student == whose


def test_the_lead_in_says_where_one_is() -> None:
    assert [flow.lead_in for flow in entry(Performance(RIGHT)).flows] == [
        "Scene. step 1. go ahead.",
        "Scene. step 2. go ahead.",
    ]
