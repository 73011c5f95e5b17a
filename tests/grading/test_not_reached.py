"""A session that is broken off: what was still due is not reached, what was over before stays what it was."""

from __future__ import annotations

from datetime import datetime

import pytest

from tests.scenes import FLOWN_HEAD, Scene, drill_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.grading.score import Grade
from voice_trainer.journal.events import (
    CueStarted,
    Ended,
    FlowClosed,
    Header,
    Heard,
    SpeechStarted,
    StepBegan,
    at,
)
from voice_trainer.logbook.derivation import entry_of
from voice_trainer.logbook.entries import FlowEntry

TURN = {"call": "turn", "say": "turn right [heading] {heading: 333}"}
DOWN = {"call": "down", "say": "descend [and maintain] {altitude: 2600}"}
LATER = {"call": "later", "say": "gear down"}
BROKEN_OFF = ("by the student", "again", "again from the fix", "start other", "device lost")


@pytest.fixture
def drill() -> Drill:
    """A flow of two calls, eight seconds each, then another flow."""
    return drill_of({"order": "strict", "calls": [TURN, DOWN]}, {"calls": [LATER]})


def broken_off(scene: Scene, reason: str = "by the student") -> Grade:
    scene.send(Ended(at_seconds=scene.now, reason=reason))
    return scene.grade()


def rated(scene: Scene) -> list[FlowEntry]:
    header = Header(
        program="test",
        session="s",
        started_utc=datetime(2026, 1, 5, 8).isoformat(),
        drill=scene.drill.model_dump(mode="json"),
        settings=scene.settings,
    )
    return list(entry_of("s", header, scene.records).flows)


@pytest.mark.parametrize("reason", BROKEN_OFF)
def test_what_still_has_time_is_not_reached(drill: Drill, reason: str) -> None:
    scene = Scene(drill).begin("step 1").say("turn right 333").wait(2.0)
    grade = broken_off(scene, reason)
    assert scene.verdicts() == {"turn": "correct"}
    assert (grade.total.got, grade.total.of, grade.completeness.percent) == (1, 1, 100.0)
    assert [d.order for d in scene.decisions if isinstance(d, FlowClosed)] == [("turn",)]
    assert rated(scene) == []


@pytest.mark.parametrize(("seconds", "verdicts"), [(7.9, {}), (8.1, {"turn": "missed", "down": "missed"})])
def test_what_had_no_time_left_is_missed(drill: Drill, seconds: float, verdicts: dict[str, str]) -> None:
    scene = Scene(drill).begin("step 1").wait(seconds)
    broken_off(scene)
    assert scene.verdicts() == verdicts


def test_what_was_missed_already_is_a_fault_of_the_practice(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say("turn right 333").wait(9.0)
    broken_off(scene)
    assert [(flow.outcome, flow.why) for flow in rated(scene)] == [("failed", "missed: down")]


def test_where_the_cue_was_still_spoken_nothing_is_reached(drill: Drill) -> None:
    scene = Scene(drill)
    scene.send(StepBegan(at_seconds=0.0, step="step 1"))
    scene.send(CueStarted(at_seconds=0.0, cue="step 1", speaker="controller", text="..."))
    broken_off(scene.wait(30.0))
    assert scene.verdicts() == {}
    deaf = Scene(drill).begin("step 1").deaf(60.0)
    broken_off(deaf)
    assert deaf.verdicts() == {}


def test_a_call_whose_event_has_not_come_is_not_reached() -> None:
    timed = {"call": "time", "say": "start the clock", "window": {"opens": "wings level"}}
    steps = [{"step": "turning", "when": "start", "flow": {"order": "any", "calls": [TURN, timed]}}]
    scene = Scene(Drill.model_validate(FLOWN_HEAD | {"steps": steps})).begin("turning").wait(40.0)
    broken_off(scene)
    assert scene.verdicts() == {"turn": "missed"}


def test_what_was_said_is_settled_as_it_is(drill: Drill) -> None:
    """A wrong value could still have been corrected: it was not."""
    scene = Scene(drill).begin("step 1").say("turn right 323")
    broken_off(scene)
    assert scene.verdicts() == {"turn": "wrong value"}
    assert [(flow.outcome, flow.why) for flow in rated(scene)] == [("failed", "wrong value: turn")]
    late = Scene(drill).begin("step 1").say("turn right 333", after=10.0)
    broken_off(late)
    assert late.verdicts() == {"turn": "late"}


def test_what_was_said_before_its_step_began_has_its_verdict() -> None:
    slow = {"call": "slow", "say": "slow to {speed: 110}", "window": {"opens": "nearing KLD"}}
    steps = [
        {"step": "start", "when": "start", "cue": {"speaker": "instructor", "say": "go"}},
        {"step": "crossing", "when": "passage KLD", "flow": {"order": "any", "calls": [slow, TURN]}},
    ]
    scene = Scene(Drill.model_validate(FLOWN_HEAD | {"steps": steps}))
    scene.begin("start").fly("nearing KLD").say("slow to 110")
    broken_off(scene)
    assert scene.verdicts() == {"slow": "correct"}


def test_what_could_not_be_made_out_stays_unclear_and_withdrawn_is_not_reached(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say("turn right 333", clarity="unclear")
    assert broken_off(scene).total.of == 0
    assert scene.verdicts() == {"turn": "unclear"}
    withdrawn = Scene(drill).begin("step 1").say("turn right 333").say("disregard")
    broken_off(withdrawn)
    assert withdrawn.verdicts() == {}


def test_who_began_to_speak_in_time_has_not_missed_it(drill: Drill) -> None:
    """Nobody understood it before the end: it may have been the call."""
    scene = Scene(drill).begin("step 1").wait(7.0)
    scene.send(SpeechStarted(at_seconds=scene.now, onset_seconds=scene.now))
    scene.wait(30.0)
    broken_off(scene)
    assert scene.verdicts() == {}


@pytest.mark.parametrize("reason", ["end of the input", "finished", "time limit"])
def test_at_any_other_end_all_that_was_not_said_is_missed(drill: Drill, reason: str) -> None:
    scene = Scene(drill).begin("step 1").say("turn right 333").wait(2.0)
    broken_off(scene, reason)
    assert scene.verdicts() == {"turn": "correct", "down": "missed", "later": "missed"}


def test_a_journal_that_breaks_off_is_settled_likewise(drill: Drill) -> None:
    whole = Scene(drill).begin("step 1").say("turn right 333").wait(2.0)
    torn = list(whole.facts)
    now = max(fact.at_seconds for fact in torn)
    whole.send(Ended(at_seconds=at(now), reason="by the student"))
    assert replay(drill, whole.settings, torn) == replay(drill, whole.settings, whole.facts)
    assert any(isinstance(fact, Heard) for fact in torn)
