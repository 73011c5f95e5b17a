"""The sequencer as lists of events in, records and commands out."""

from __future__ import annotations

import pytest

from tests.scenes import drill_of
from tests.sequencing.chair import Chair, flown, heading, spoken
from voice_trainer.drills.model import Drill
from voice_trainer.grading.matcher import Tick
from voice_trainer.journal.events import (
    Commanded,
    CueEnded,
    CueStarted,
    Ended,
    Flown,
    Heard,
    Settings,
    Settled,
    SpeechEnded,
    StepBegan,
)
from voice_trainer.recognition.typed import hear_text
from voice_trainer.sequencing.commands import FallSilent, Finish, Sound, Speak
from voice_trainer.sequencing.floor import IllegalEventError

GEAR = {"calls": [{"call": "gear", "say": "gear down"}]}


def test_the_first_cue_is_given_at_once() -> None:
    chair = Chair(drill_of(GEAR))
    assert spoken(chair.send(Tick(0.0))) == ["step 1"]


def test_a_cue_waits_for_the_student_to_finish_and_to_be_understood() -> None:
    drill = drill_of(GEAR)
    chair = Chair(
        Drill.model_validate(
            drill.model_dump() | {"steps": [drill.steps[0].model_dump() | {"after_seconds": 1.0}]}
        )
    )
    chair.tick(0.5)
    chair.begin_to_say()
    assert spoken(chair.tick(5.0)) == []
    chair.send(SpeechEnded(at_seconds=chair.now, start_seconds=0.5, end_seconds=chair.now))
    assert spoken(chair.tick(2.0)) == []
    hearing = hear_text("let me see", chair.grammar, 0.5, 0.3)
    assert spoken(chair.send(Heard(at_seconds=chair.now, hearing=hearing))) == ["step 1"]


def test_an_urgent_cue_does_not_wait_for_the_student() -> None:
    drill = drill_of(GEAR)
    urgent = drill.steps[0].model_dump() | {"after_seconds": 1.0}
    urgent["cue"]["urgent"] = True
    chair = Chair(Drill.model_validate(drill.model_dump() | {"steps": [urgent]}))
    chair.tick(0.5)
    chair.begin_to_say()
    assert spoken(chair.tick(1.0)) == ["step 1"]


def test_an_urgent_cue_silences_the_trainers_own() -> None:
    first = {"step": "slow", "when": "start", "cue": {"speaker": "instructor", "say": "a long story"}}
    then = {
        "step": "fast",
        "when": "start",
        "after_seconds": 1,
        "cue": {"speaker": "controller", "say": "stop", "urgent": True},
    }
    head = {"drill": "d", "title": "D", "kind": "radio", "trains": "t"}
    chair = Chair(Drill.model_validate(head | {"steps": [first, then]}))
    assert spoken(chair.tick(0.1)) == ["slow"]
    chair.send(CueStarted(at_seconds=chair.now, cue="slow", speaker="instructor", text="..."))
    given = chair.tick(2.0)
    assert [c for c in given if isinstance(c, FallSilent)] == [FallSilent()]
    given = chair.send(CueEnded(at_seconds=chair.now, cue="slow", complete=False))
    assert spoken(given) == ["fast"]


def test_the_drill_finishes_when_all_is_settled_and_said() -> None:
    chair = Chair(drill_of(GEAR))
    chair.tick()
    chair.sound("step 1")
    assert Finish("finished") in chair.say("gear down")
    last = chair.sequencer.receive(Ended(at_seconds=chair.now, reason="finished"))
    assert [r.event for r in last.records] == ["ended"]
    assert chair.sequencer.receive(Tick(chair.now + 1)).records == []


def test_the_time_limit_ends_a_drill_that_does_not_end() -> None:
    chair = Chair(drill_of(GEAR, limit_seconds=5))
    assert Finish("time limit") in chair.tick(6.0)


def test_what_was_accepted_sounds_a_tone_and_what_was_not_is_asked_for() -> None:
    readback = {
        "order": "any",
        "asks": True,
        "calls": [
            {"call": "gear", "say": "gear down"},
            {"call": "callsign", "say": "{callsign: Heron 24}", "ask": "say your callsign"},
        ],
    }
    chair = Chair(drill_of(readback))
    chair.tick()
    chair.sound("step 1")
    assert Sound("heard") in chair.say("gear down")
    question = [c for c in chair.tick(4.0) if isinstance(c, Speak)]
    assert [(q.cue, q.speaker, q.text) for q in question] == [
        ("question: step 1", "controller", "say your callsign")
    ]


def test_the_students_say_again_is_answered_with_the_last_cue() -> None:
    chair = Chair(drill_of(GEAR))
    first = [c for c in chair.tick() if isinstance(c, Speak)]
    chair.sound("step 1")
    again = [c for c in [*chair.say("say again"), *chair.tick(1.0)] if isinstance(c, Speak)]
    assert [(a.speaker, a.text) for a in again] == [(f.speaker, f.text) for f in first]


def test_the_trainer_is_told_to_freeze_and_to_continue() -> None:
    chair = Chair(drill_of(GEAR))
    chair.tick()
    chair.sound("step 1")
    chair.say("trainer freeze")
    assert chair.sequencer.paused
    before = chair.sequencer.running_seconds(chair.now)
    chair.tick(100.0)
    assert chair.sequencer.running_seconds(chair.now) == before
    chair.say("trainer continue")
    assert Finish("finished") in chair.say("gear down")


def test_ending_by_voice() -> None:
    chair = Chair(drill_of(GEAR))
    chair.tick()
    chair.sound("step 1")
    assert Finish("by the student") in chair.say("trainer end")


def test_events_that_cannot_happen_raise() -> None:
    with pytest.raises(IllegalEventError):
        Chair(drill_of(GEAR)).send(CueEnded(at_seconds=0.0, cue="step 1"))


TURNS = {"call": "turn", "say": "turn right [heading] {heading: 333}", "does": "turn"}


def test_the_aeroplane_does_what_is_said_right_or_wrong() -> None:
    chair = Chair(flown({"step": "go", "when": "start", "flow": {"calls": [TURNS]}}))
    chair.tick()
    chair.say("turn right heading 320")
    commanded = [r for r in chair.records if isinstance(r, Commanded)]
    assert [(c.by, c.slots["heading"]) for c in commanded] == [("student", "320")]
    chair.tick(3.5)
    assert 300 < heading(chair) <= 320


def test_what_could_not_be_made_out_is_done_by_the_instructor_once_nothing_is_asked_any_more() -> None:
    chair = Chair(flown({"step": "go", "when": "start", "flow": {"calls": [TURNS]}}, limit_seconds=120))
    chair.tick()
    for _ in range(3):
        chair.say("turn right heading 333", clarity="unclear")
        assert heading(chair) == 300
        chair.listen(0.5)
    chair.tick(30.0)
    settled = next(r for r in chair.records if isinstance(r, Settled))
    commanded = [r for r in chair.records if isinstance(r, Commanded)]
    assert settled.verdict == "unclear"
    assert [(c.by, c.slots) for c in commanded] == [("instructor", {"left/right": "right", "heading": "333"})]
    chair.tick(20.0)
    assert heading(chair) == 333


def test_what_was_not_said_is_not_done_until_the_instructor_steps_in() -> None:
    drill = flown({"step": "go", "when": "start", "flow": {"calls": [TURNS]}}, limit_seconds=60)
    chair = Chair(drill)
    chair.tick(13.0)
    assert heading(chair) == 300
    assert spoken(chair.tick(3.0)) == ["correction: go"]
    chair.sound("correction: go")
    assert heading(chair) == 300
    chair.tick(12.5)
    chair.sound("answer")
    chair.tick(15.0)
    assert heading(chair) == pytest.approx(333)
    alone = Chair(drill, Settings(mode="fly through"))
    alone.tick(40.0)
    assert heading(alone) == 300


def test_a_step_waits_for_its_event_of_the_flight() -> None:
    steps = (
        {"step": "go", "when": "start", "cue": {"speaker": "instructor", "say": "go"}},
        {"step": "over", "when": "passage KLD", "cue": {"speaker": "aeroplane", "say": "from"}},
    )
    chair = Chair(flown(*steps))
    chair.tick()
    chair.sound("go")
    assert spoken(chair.tick(60.0)) == ["over"]
    began = next(r for r in chair.records if isinstance(r, StepBegan) and r.step == "over")
    passed = next(r for r in chair.records if isinstance(r, Flown) and r.name == "passage KLD")
    assert began.at_seconds - passed.at_seconds < 0.2


def test_a_wrong_turn_stands_still_until_the_instructor_puts_it_right() -> None:
    drill = flown({"step": "go", "when": "start", "flow": {"calls": [TURNS]}}, limit_seconds=90)
    chair = Chair(drill)
    chair.tick()
    chair.say("turn right heading 353")
    assert spoken(chair.tick(30.0)) == ["correction: go"]
    chair.sound("correction: go")
    assert heading(chair) < 320
    chair.tick(13.0)
    assert heading(chair) < 320
    chair.sound("answer")
    chair.tick(30.0)
    assert heading(chair) == pytest.approx(333)


def test_a_memory_drill_begins_by_saying_whose_items_they_are_not() -> None:
    drill = drill_of(GEAR)
    assert [line.cue for line in Chair(drill).listen(3.0)] == ["step 1"]
    lines = Chair(Drill.model_validate(drill.model_dump() | {"kind": "memory"})).listen(5.0)
    assert lines[0].text == "Generic: use your own aircraft's handbook."
    assert lines[1].cue == "step 1"
