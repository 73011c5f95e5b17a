"""What the student says to the trainer, to the controller and to the aeroplane, and what comes of it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.scenes import drill_of
from tests.sequencing.chair import Chair, flown, heading
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.grading.score import grade
from voice_trainer.journal.events import (
    Accepted,
    Decision,
    Disputed,
    Flown,
    Heard,
    Jumped,
    Paused,
    PutRight,
    Settings,
    Settled,
    SpeechEnded,
    StepBegan,
    ToTrainer,
    Withdrawn,
    from_line,
    to_line,
)
from voice_trainer.journal.hearing import Clarity
from voice_trainer.recognition.typed import hear_text
from voice_trainer.sequencing.answers import panel_answer
from voice_trainer.sequencing.commands import Finish, Sound, Speak

GEAR = {"calls": [{"call": "gear", "say": "gear down"}]}
THREE = {
    "order": "strict",
    "calls": [
        {"call": "turn", "say": "turn right [heading] {heading: 333}"},
        {"call": "transition", "say": "descend [and maintain] {altitude: 2600}"},
        {"call": "talk", "say": "kelda outbound"},
    ],
}
FLY_THROUGH = Settings(mode="fly through")


def verdicts(chair: Chair) -> dict[tuple[str, str], str]:
    decisions = [r for r in chair.records if isinstance(r, Decision)]
    return {(v.step, v.call): v.verdict for v in grade(chair.sequencer.drill, decisions).verdicts}  # type: ignore[arg-type]


def replays(chair: Chair) -> bool:
    """Whether the facts alone, written down and read again, lead to the same decisions."""
    records = [from_line(to_line(r)) for r in chair.records]
    decided = [to_line(r) for r in chair.records if isinstance(r, Decision)]
    again = replay(chair.sequencer.drill, chair.sequencer.settings, records)  # type: ignore[arg-type]
    return [to_line(d) for d in again][: len(decided)] == decided


def texts(lines: list[Speak]) -> list[tuple[str, str]]:
    return [(line.speaker, line.text) for line in lines]


def radio_drill() -> Drill:
    steps = [
        {"step": "brief", "when": "start", "cue": {"speaker": "instructor", "say": "you are at Kelda"}},
        {"step": "clearance", "cue": {"speaker": "controller", "say": "go ahead"}, "flow": THREE},
    ]
    head = {"drill": "d", "title": "D", "kind": "radio", "trains": "t"}
    return Drill.model_validate(head | {"steps": steps})


def test_say_again_is_answered_by_whom_it_is_said_to() -> None:
    chair = Chair(radio_drill())
    chair.listen(1.0)
    chair.say("trainer slower")
    assert texts(chair.listen(1.0)) == [("instructor", "Slower.")]
    chair.say("say again")
    assert texts(chair.listen(1.0)) == [("controller", "go ahead")]
    chair.say("trainer what did I miss")
    assert texts(chair.listen(1.0)) == [("instructor", "Nothing so far.")]
    chair.say("trainer say again")
    assert texts(chair.listen(1.0)) == [("instructor", "Nothing so far.")]


def test_what_is_said_again_begins_the_time_anew() -> None:
    chair = Chair(drill_of(GEAR))
    chair.listen(7.0)
    chair.say("say again")
    chair.listen(7.0)
    chair.say("gear down")
    assert verdicts(chair) == {("step 1", "gear"): "correct"}
    assert replays(chair)


def test_stand_by_gives_time() -> None:
    chair = Chair(drill_of(GEAR))
    chair.listen(1.0)
    chair.say("stand by")
    assert chair.listen(20.0) == []
    chair.say("gear down")
    assert verdicts(chair) == {("step 1", "gear"): "correct"}
    assert replays(chair)


def test_slower_and_faster_change_the_rate_of_what_follows() -> None:
    chair = Chair(radio_drill())
    assert {line.pace for line in chair.listen(1.0)} == {1.0}
    for _ in range(5):
        chair.say("trainer slower")
        chair.listen(0.5)
    chair.say("say again")
    slow = chair.listen(0.5)[-1].pace
    assert slow == 0.6
    for _ in range(10):
        chair.say("trainer faster")
        last = chair.listen(0.5)[-1]
    assert (last.text, last.pace) == ("Faster.", 1.6)
    begun = Chair(radio_drill(), Settings(pace=0.8))
    assert begun.listen(1.0)[0].pace == 0.8


def test_skip_settles_what_is_owed_and_goes_on() -> None:
    chair = Chair(drill_of(THREE, GEAR))
    chair.listen(1.0)
    chair.say("turn right 333")
    chair.say("trainer skip")
    settled = {r.call: r for r in chair.records if isinstance(r, Settled)}
    assert {name: v.verdict for name, v in settled.items()} == {
        "turn": "correct", "transition": "missed", "talk": "missed",
    }  # fmt: skip
    assert settled["talk"].reason == "Skipped."
    assert [line.cue for line in chair.listen(1.0)] == ["step 2"]  # and no correction
    assert replays(chair)


def test_what_did_i_miss_tells_the_faults_so_far() -> None:
    chair = Chair(drill_of(THREE, GEAR), FLY_THROUGH)
    chair.listen(1.0)
    chair.say("turn right 323")
    chair.say("trainer skip")
    chair.listen(1.0)
    chair.say("trainer what did I miss")
    (answer,) = chair.listen(0.5)
    assert answer.text == (
        "Step 1, turn: wrong; turn right heading three three three. "
        "Step 1, transition: missed; descend and maintain two thousand six hundred. "
        "Step 1, talk: missed; kelda outbound."
    )


def test_answers_are_given_while_everything_is_frozen() -> None:
    chair = Chair(radio_drill())
    chair.listen(1.0)
    chair.say("trainer freeze")
    chair.say("say again")
    assert texts(chair.listen(30.0)) == [("controller", "go ahead")]
    assert Sound("heard") in chair.say("stand by")
    chair.say("trainer what did I miss")
    assert texts(chair.listen(1.0)) == [("instructor", "Nothing so far.")]
    chair.say("trainer continue")
    for call in ("turn right 333", "descend 2600", "kelda outbound"):
        chair.say(call)
    assert set(verdicts(chair).values()) == {"correct"}
    assert replays(chair)


def test_a_call_into_a_freeze_is_told_once_that_we_stand_still() -> None:
    chair = Chair(radio_drill())
    chair.listen(1.0)
    told = [("instructor", "We stand still. Say: trainer, continue.")]
    for times in (told, told):
        chair.say("trainer freeze")
        chair.say("turn right 323")
        assert texts(chair.listen(5.0)) == times
        chair.say("turn right 323")
        assert chair.listen(5.0) == []
        chair.say("trainer continue")
    said = [r.hearing for r in chair.records if isinstance(r, Heard)]
    assert {hearing.text for hearing in said} == {"trainer freeze", "", "trainer continue"}
    for call in ("turn right 333", "descend 2600", "kelda outbound"):
        chair.say(call)
    assert set(verdicts(chair).values()) == {"correct"}
    assert replays(chair)


@pytest.mark.parametrize("talk", ["good morning is anybody in", "who is it say again please", "one moment"])
def test_talk_into_a_freeze_gets_no_answer(talk: str) -> None:
    chair = Chair(radio_drill())
    chair.listen(1.0)
    chair.say("trainer freeze")
    assert not any(isinstance(command, Speak | Sound) for command in chair.say(talk))
    assert chair.listen(5.0) == []
    assert not any(word in "".join(map(to_line, chair.records)) for word in ("morning", "please", "moment"))


def test_a_call_in_one_breath_with_continue_is_asked_for_again() -> None:
    chair = Chair(drill_of(GEAR))
    chair.listen(1.0)
    chair.say("trainer freeze")
    assert Sound("say again") in chair.say("trainer continue gear down")
    assert not chair.sequencer.paused
    assert verdicts(chair) == {}


def test_a_call_while_the_device_is_lost_is_no_reason_to_say_continue() -> None:
    chair = Chair(drill_of(GEAR))
    chair.listen(1.0)
    chair.begin_to_say()
    chair.send(Paused(at_seconds=chair.now, reason="device lost"))
    chair.send(SpeechEnded(at_seconds=chair.now, start_seconds=chair.now, end_seconds=chair.now))
    chair.send(Heard(at_seconds=chair.now, hearing=hear_text("gear down", chair.grammar, chair.now, 0.0)))
    assert chair.listen(5.0) == []


@pytest.mark.parametrize(
    ("said", "reason"),
    [
        ("trainer again", "again"),
        ("trainer end", "by the student"),
        ("trainer fly Kelda one five", "start kelda-outbound"),
    ],
)
def test_orders_that_end_the_session(said: str, reason: str) -> None:
    chair = Chair(drill_of(GEAR, THREE), Settings(drills={"kelda one five": "kelda-outbound"}))
    chair.listen(1.0)
    assert Finish(reason) in chair.say(said)


def test_the_trainer_listens_to_its_own_name_only() -> None:
    chair = Chair(drill_of(GEAR), Settings(trainer_name="professor"))
    chair.listen(1.0)
    chair.say("trainer freeze")
    assert not chair.sequencer.paused
    chair.say("professor freeze")
    assert chair.sequencer.paused


# 'I said that'.


@pytest.mark.parametrize(
    "said", ["trainer I said that", "trainer I said kelda outbound", "trainer I said the talk"]
)
def test_a_disputed_verdict_is_out_of_the_score(said: str) -> None:
    chair = Chair(drill_of(THREE, GEAR), FLY_THROUGH)
    chair.listen(1.0)
    chair.say("turn right 333")
    chair.say("descend 2600")
    chair.listen(20.0)
    assert verdicts(chair)["step 1", "talk"] == "missed"
    chair.say(said)
    assert verdicts(chair)["step 1", "talk"] == "disputed"
    decisions = [r for r in chair.records if isinstance(r, Decision)]
    result = grade(chair.sequencer.drill, decisions)  # type: ignore[arg-type]
    assert result.total.got == 2
    assert result.total.of == 2
    assert [line.text for line in chair.listen(0.5)] == ["Disputed: talk."]
    assert replays(chair)


def test_an_earlier_call_is_disputed_by_its_words_or_its_name_and_a_right_one_is_not() -> None:
    chair = Chair(drill_of(THREE, GEAR), FLY_THROUGH)
    chair.listen(1.0)
    chair.say("turn right 333")
    chair.listen(30.0)
    chair.say("trainer I said descend 2600")
    disputed = [(r.step, r.call) for r in chair.records if isinstance(r, Disputed)]
    assert disputed == [("step 1", "transition")]
    chair.say("trainer I said the turn")
    assert [line.text for line in chair.listen(0.5)][-1] == "Nothing was held against you there."
    assert verdicts(chair)["step 1", "turn"] == "correct"
    order = [r for r in chair.records if isinstance(r, ToTrainer)][-1]
    assert (order.step, order.call) == ("", "")


def test_a_wrong_value_is_disputed_while_its_flow_is_open_and_no_correction_follows() -> None:
    chair = Chair(drill_of(GEAR | {"calls": [{"call": "turn", "say": "turn right {heading: 333}"}]}))
    chair.listen(1.0)
    chair.say("turn right 323")
    chair.say("trainer I said that")
    assert verdicts(chair) == {("step 1", "turn"): "disputed"}
    assert [line.cue for line in chair.listen(10.0)] == ["answer"]
    assert replays(chair)


# Stop and correct.


def test_a_wrong_value_stops_everything_until_it_is_put_right() -> None:
    chair = Chair(drill_of(THREE, GEAR))
    chair.listen(1.0)
    chair.say("turn right 323")
    (stop,) = chair.listen(2.0)
    assert stop.text == "Stop. Turn: Said heading three two three; it is heading three three three. " + (
        "Say: turn right heading three three three."
    )
    before = chair.sequencer.running_seconds(chair.now)
    chair.say("descend 2600")  # not what everything waits for
    chair.say("turn right 353")
    assert chair.sequencer.running_seconds(chair.now) == before
    chair.say("turn right heading 333")
    chair.listen(0.2)
    chair.say("descend 2600")
    chair.say("kelda outbound")
    assert verdicts(chair) == {
        ("step 1", "turn"): "wrong value", ("step 1", "transition"): "correct", ("step 1", "talk"): "correct",
    }  # fmt: skip
    turn = next(r for r in chair.records if isinstance(r, Settled) and r.call == "turn")
    assert "put right when the trainer stopped" in turn.remarks
    assert replays(chair)


def test_who_goes_on_without_a_pause_is_not_stopped_before_the_end() -> None:
    chair = Chair(drill_of(THREE, GEAR))
    chair.listen(1.0)
    for call in ("turn right 323", "descend 2600", "kelda outbound"):
        chair.say(call)
        assert chair.listen(0.8) == []
    assert [line.cue for line in chair.listen(1.0)] == ["correction: step 1"]  # the thinking pause is over
    chair.say("turn right 333")
    chair.listen(5.0)
    assert list(verdicts(chair).values()) == ["wrong value", "correct", "correct"]


def test_who_corrects_a_value_at_once_is_not_stopped() -> None:
    chair = Chair(drill_of(THREE, GEAR))
    chair.listen(1.0)
    chair.say("turn right 323")
    chair.tick(0.5)
    chair.say("correction turn right 333")
    assert chair.listen(3.0) == []


def test_a_missed_call_is_told_with_its_reason_and_the_next_step_waits() -> None:
    flow = {"calls": [{"call": "gear", "say": "gear down", "because": "The gear is down by 1,500 (ours)."}]}
    chair = Chair(drill_of(flow, THREE))
    lines = chair.listen(20.0)
    assert [line.cue for line in lines] == ["step 1", "correction: step 1"]
    assert lines[1].text == (
        "Stop. Gear: Not said. The gear is down by one thousand five hundred. Say: gear down."
    )
    chair.say("gear down")
    assert [line.cue for line in chair.listen(1.0)] == ["step 2"]
    last = [r for r in chair.records if isinstance(r, Settled)][-1]
    assert (last.verdict, last.remarks) == ("missed", ("put right when the trainer stopped",))
    assert replays(chair)


def test_without_the_right_call_it_goes_on_after_a_while() -> None:
    chair = Chair(drill_of(GEAR, THREE))
    cues = [line.cue for line in chair.listen(40.0)]
    assert cues[:4] == ["step 1", "correction: step 1", "answer", "step 2"]
    last = next(r for r in chair.records if isinstance(r, Settled) and r.remarks)
    assert last.remarks == ("not put right when the trainer stopped",)
    assert replays(chair)


def test_fly_through_says_nothing() -> None:
    chair = Chair(drill_of(THREE, GEAR), FLY_THROUGH)
    chair.listen(1.0)
    chair.say("turn right 323")
    assert [line.cue for line in chair.listen(30.0)] == ["step 2"]


def test_a_correction_can_be_frozen_skipped_and_disputed() -> None:
    chair = Chair(drill_of(GEAR, GEAR, GEAR))
    chair.listen(20.0)
    chair.say("trainer freeze")
    assert chair.listen(100.0) == []
    chair.say("trainer continue")
    chair.say("gear down")
    assert "step 2" in [line.cue for line in chair.listen(20.0)]
    chair.say("trainer skip")
    assert "step 3" in [line.cue for line in chair.listen(20.0)]
    chair.say("trainer I said that")
    chair.listen(1.0)
    assert verdicts(chair)["step 3", "gear"] == "disputed"
    assert chair.commands[-1] == Finish("finished")
    assert replays(chair)


def stopped(*flows: dict[str, Any], saying: str = "turn right 323") -> Chair:
    """A session that stands still, since the turn was wrong."""
    chair = Chair(drill_of(*(flows or (THREE, GEAR))))
    chair.listen(1.0)
    chair.say(saying)
    assert [line.cue for line in chair.listen(2.0)] == ["correction: step 1"]
    return chair


def test_other_calls_are_taken_while_everything_stands_still_and_are_on_time() -> None:
    chair = stopped()
    chair.tick(9.0)  # more than their eight seconds, with the next one
    for call in ("descend 2600", "kelda outbound"):
        assert Sound("heard") in chair.say(call)
    assert chair.sequencer.state.stopped_for == (("step 1", "turn"),)
    chair.say("turn right 333")
    chair.listen(1.0)
    assert list(verdicts(chair).values()) == ["wrong value", "correct", "correct"]
    assert replays(chair)


def test_one_breath_may_put_right_and_go_on() -> None:
    chair = stopped()
    chair.say("turn right 333, descend 2600, kelda outbound")
    chair.listen(1.0)
    assert list(verdicts(chair).values()) == ["wrong value", "correct", "correct"]
    assert replays(chair)


def test_a_wrong_value_of_another_call_can_be_corrected_there() -> None:
    chair = stopped()
    chair.say("descend 2900")
    chair.say("correction descend 2600")
    chair.say("turn right 333")
    chair.say("kelda outbound")
    assert list(verdicts(chair).values()) == ["wrong value", "correct", "correct"]
    assert replays(chair)


def test_what_is_withdrawn_is_not_what_was_said_before_the_wrong_call() -> None:
    chair = Chair(drill_of(THREE, GEAR))
    chair.listen(1.0)
    chair.say("turn right 333")
    chair.say("descend 2900")
    chair.listen(2.0)
    assert chair.sequencer.state.stopped_for == (("step 1", "transition"),)
    assert Sound("say again") in chair.say("disregard")
    chair.say("descend 2600")
    chair.say("kelda outbound")
    assert list(verdicts(chair).values()) == ["correct", "wrong value", "correct"]
    withdrawn = stopped()
    withdrawn.say("descend 2600")
    withdrawn.say("disregard")
    assert any(isinstance(r, Withdrawn) for r in withdrawn.records)
    assert replays(withdrawn)


def test_a_wrong_try_is_no_other_call_with_a_wrong_value() -> None:
    """'Turn right' is due in the other flow as well: with other values, which this is not."""
    other = {"order": "any", "calls": [{"call": "back", "say": "turn right [heading] {heading: 153}"}]}
    steps = [
        {"step": "step 1", "when": "start", "cue": {"speaker": "controller", "say": "go"}, "flow": THREE},
        {"step": "step 2", "when": "start", "flow": other},
    ]
    head = {"drill": "d", "title": "D", "kind": "radio", "trains": "t"}
    chair = Chair(Drill.model_validate(head | {"steps": steps}))
    chair.listen(1.0)
    chair.say("turn right 323")
    chair.listen(2.0)
    assert Sound("say again") in chair.say("turn right 343")
    assert Sound("say again") in chair.say("correction turn right 343")
    assert [r.call for r in chair.records if isinstance(r, Accepted)] == ["turn"]
    chair.say("turn right 153")
    assert [r.call for r in chair.records if isinstance(r, Accepted)] == ["turn", "back"]
    chair.say("turn right 333")
    assert [r.call for r in chair.records if isinstance(r, PutRight)] == ["turn"]
    assert replays(chair)


def test_say_again_repeats_the_correction_and_the_time_begins_anew() -> None:
    chair = stopped()
    chair.tick(7.0)
    chair.say("say again")
    (again,) = chair.listen(9.0)
    assert again.text.startswith("Stop. Turn:")
    assert chair.sequencer.state.stopped_for
    chair.say("turn right 333")
    assert not chair.sequencer.state.stopped_for
    assert replays(chair)


def test_stand_by_gives_time_to_put_right() -> None:
    chair = stopped()
    chair.tick(10.0)
    assert Sound("heard") in chair.say("stand by")
    assert chair.listen(15.0) == []
    assert chair.sequencer.state.stopped_for
    assert [line.text for line in chair.listen(10.0)][:1] == ["Going on."]
    assert replays(chair)


@pytest.mark.parametrize(
    ("said", "clarity"), [("let me see", None), ("roger", None), ("turn right 333", "unclear")]
)
def test_what_is_of_no_use_gets_the_tone(said: str, clarity: Clarity | None) -> None:
    chair = stopped()
    assert Sound("say again") in chair.say(said, clarity)
    assert chair.sequencer.state.stopped_for


# A flown drill.

TURN = {"call": "turn", "say": "turn right [heading] {heading: 333}", "does": "turn"}
CLOCK = {"call": "clock", "say": "start the clock", "does": "clock"}
SHOWN = {"speaker": "aeroplane", "say": "look"}
LEG: tuple[dict[str, Any], ...] = (
    {"step": "crossing", "when": "passage KLD", "cue": SHOWN, "flow": {"calls": [TURN]}},
    {"step": "level", "when": "wings level", "cue": SHOWN, "flow": {"calls": [CLOCK]}},
    {"step": "minute", "when": "clock 1:00", "cue": SHOWN},
)


def at_wings_level(**settings: Any) -> Chair:
    chair = Chair(flown(*LEG), Settings(**settings))
    chair.listen(38.0)
    chair.say("turn right 333")
    chair.listen(16.0)
    return chair


def panel(chair: Chair) -> dict[str, str]:
    assert chair.sequencer.airborne is not None
    return chair.sequencer.airborne.panel()


def test_the_aeroplane_says_what_its_panel_shows() -> None:
    chair = Chair(flown(*LEG))
    chair.tick(1.0)
    for question, answer in (
        ("say heading", "Heading three zero zero."),
        ("say altitude", "Altitude three thousand."),
        ("say airspeed", "Airspeed one five zero."),
        ("say position", "Radial one two zero, one point two miles. Flag to."),
        ("say distance", "One point one miles."),
        ("say radial", "Radial one two zero."),
        ("say wind", "Wind calm."),
        ("say needle", "Needle centred. Flag to."),
        ("say time", "Clock stopped."),
    ):
        chair.say(question)
        assert texts(chair.listen(0.3, 0.3)) == [("aeroplane", answer)]
    assert verdicts(chair) == {}


@pytest.mark.parametrize(
    ("question", "shown", "answer"),
    [
        ("say wind", {"wind": "270 at 15"}, "Wind two seven zero at one five."),
        ("say time", {"clock": "1:05"}, "Clock one minute five seconds."),
        ("say needle", {"needle": "3 left"}, "Needle three degrees left. Flag from."),
        ("say needle", {"needle": "0.5 dots right"}, "Needle zero point five dots right. Flag from."),
        ("say needle", {"needle": "full left"}, "Needle full left. Flag from."),
        ("say distance", {"flag": "OFF", "distance": "none"}, "No signal. Flag off."),
        ("say position", {"flag": "OFF", "distance": "none", "radial": "none"}, "No signal. Flag off."),
    ],
)
def test_other_readings_are_said_in_words(question: str, shown: dict[str, str], answer: str) -> None:
    assert panel_answer(question, {"flag": "FROM"} | shown, "faa") == answer


def test_next_event_flies_to_just_before_it_and_misses_nothing() -> None:
    chair = at_wings_level()
    chair.say("start the clock")
    shown = panel(chair)["clock"]
    before = chair.sequencer.running_seconds(chair.now)
    chair.say("trainer next event")
    assert panel(chair)["clock"] == "0:57"
    assert shown != "0:57"
    assert chair.sequencer.running_seconds(chair.now) - before < 5
    assert "minute" in [line.cue for line in chair.listen(4.0)]
    jumped = [r.seconds for r in chair.records if isinstance(r, Jumped)]
    assert 45 < jumped[0] < 57
    minute = next(r for r in chair.records if isinstance(r, Flown) and r.name == "clock 1:00")
    assert minute.at_seconds == pytest.approx(chair.now, abs=5)
    assert set(verdicts(chair).values()) == {"correct"}
    assert replays(chair)


def test_a_wrong_attempt_at_a_correction_is_asked_for_again_by_the_tone() -> None:
    chair = Chair(drill_of(GEAR, GEAR))
    chair.listen(20.0)
    assert Sound("say again") in chair.say("gear up")
    assert Sound("heard") in chair.say("gear down")


def test_after_going_back_an_old_verdict_is_neither_told_nor_disputed() -> None:
    chair = Chair(drill_of(THREE, GEAR), FLY_THROUGH)
    chair.listen(1.0)
    chair.say("turn right 323")
    chair.say("trainer back")
    chair.listen(1.0)
    chair.say("trainer what did I miss")
    assert [line.text for line in chair.listen(0.5)] == ["Nothing so far."]
    chair.say("trainer I said that")
    assert [line.text for line in chair.listen(0.5)] == ["Nothing was held against you there."]
    assert replays(chair)


def test_there_is_no_next_event_while_nothing_leads_to_it() -> None:
    chair = at_wings_level()
    chair.say("trainer next event")  # nobody has started the clock
    assert "There is no next event to fly to." in [line.text for line in chair.listen(0.5)]
    assert not any(isinstance(r, Jumped) for r in chair.records)
    unflown = Chair(drill_of(GEAR))
    unflown.listen(1.0)
    unflown.say("trainer next event")
    assert [line.text for line in unflown.listen(0.5)] == ["There is no next event to fly to."]


def test_back_to_the_last_fix_restores_flight_and_flows_and_later_verdicts_count() -> None:
    chair = Chair(flown(*LEG), FLY_THROUGH)
    chair.listen(45.0)
    crossed = next(r.at_seconds for r in chair.records if isinstance(r, StepBegan))
    chair.say("turn right 353")
    chair.listen(8.0)
    assert verdicts(chair)["crossing", "turn"] == "wrong value"
    assert heading(chair) > 310
    chair.say("trainer back to the last fix")
    assert heading(chair) == pytest.approx(300, abs=0.5)
    assert [line.cue for line in chair.listen(1.0)] == ["crossing"]
    again = [r.at_seconds for r in chair.records if isinstance(r, StepBegan)][-1]
    assert again > crossed + 5
    chair.say("turn right 333")
    assert verdicts(chair)["crossing", "turn"] == "correct"
    assert "level" in [line.cue for line in chair.listen(30.0)]
    assert heading(chair) == pytest.approx(333, abs=0.5)
    assert replays(chair)


def test_back_in_an_unflown_drill_begins_its_last_step_anew() -> None:
    chair = Chair(drill_of(THREE, GEAR), FLY_THROUGH)
    chair.listen(1.0)
    chair.say("turn right 323")
    chair.say("trainer back")
    assert [line.cue for line in chair.listen(1.0)] == ["step 1"]
    for call in ("turn right 333", "descend 2600", "kelda outbound"):
        chair.say(call)
    assert set(verdicts(chair).values()) == {"correct"}
    assert replays(chair)


def test_back_from_a_correction_ends_it() -> None:
    chair = at_wings_level()
    chair.listen(15.0)
    assert "correction: level" in [c.cue for c in chair.commands if isinstance(c, Speak)]
    chair.say("trainer back")
    assert [line.cue for line in chair.listen(1.0)] == ["level"]
    chair.say("start the clock")
    assert verdicts(chair)["level", "clock"] == "correct"
    assert "minute" in [line.cue for line in chair.listen(61.0)]
    assert replays(chair)


def test_the_panel_is_read_while_everything_stands_still() -> None:
    chair = Chair(flown(*LEG))
    chair.listen(38.0)
    chair.say("turn right 323")
    assert [line.cue for line in chair.listen(2.0)] == ["correction: crossing"]
    chair.say("say heading")
    assert [line.speaker for line in chair.listen(1.0)] == ["aeroplane"]
    chair.say("trainer freeze")
    chair.say("say position")
    assert [line.speaker for line in chair.listen(1.0)] == ["aeroplane"]
    chair.say("trainer continue")
    chair.say("turn right 333")
    assert any(isinstance(r, PutRight) for r in chair.records)
    assert replays(chair)
