"""Each verdict, from what was said and when; the fairness rules of the project's design page."""

from __future__ import annotations

import pytest

from tests.scenes import FLOWN_HEAD, Scene, drill_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.score import in_words
from voice_trainer.journal.events import (
    Accepted,
    AskAgain,
    AskFor,
    AskForRest,
    Extra,
    Paused,
    Resumed,
    Settings,
    Settled,
)

TURN = {"call": "turn", "say": "turn right [heading] {heading: 333}"}
DOWN = {"call": "down", "say": "descend [and maintain] {altitude: 2600}"}
TWIST = {"call": "twist", "say": "set course {course: 333}"}
STRICT = {"order": "strict", "calls": [TURN, DOWN, TWIST]}
READBACK = {
    "order": "any",
    "asks": True,
    "calls": [
        {"call": "altitude", "say": "[maintain] {altitude: 2900}", "ask": "confirm the altitude"},
        {"call": "altimeter", "say": "altimeter {altimeter: 29.84}", "ask": "say the altimeter"},
        {"call": "callsign", "say": "{callsign: Heron 24}"},
    ],
}
RIGHT = ("turn right heading 333", "descend and maintain 2600", "set course 333")


@pytest.fixture
def drill() -> Drill:
    return drill_of(STRICT)


def test_all_right_is_all_correct(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say_all(RIGHT)
    grade = scene.end()
    assert scene.verdicts() == {"turn": "correct", "down": "correct", "twist": "correct"}
    assert grade.total.percent == grade.order.percent == grade.timing.percent == 100.0


def test_several_calls_in_one_breath(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say(", ".join(RIGHT))
    assert set(scene.verdicts().values()) == {"correct"}


def test_a_wrong_digit_is_a_wrong_value_with_both_values_in_its_reason(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say_all(("turn right heading 323", *RIGHT[1:]))
    scene.end()
    verdict = next(v for v in scene.grade().verdicts if v.call == "turn")
    assert verdict.verdict == "wrong value"
    assert "323" in verdict.reason
    assert "333" in verdict.reason


@pytest.mark.parametrize(
    "words", [("turn left heading 333", *RIGHT[1:]), (RIGHT[0], "climb and maintain 2600", RIGHT[2])]
)
def test_an_opposite_word_is_wrong_whatever_the_similarity(drill: Drill, words: tuple[str, ...]) -> None:
    scene = Scene(drill).begin("step 1").say_all(words)
    scene.end()
    assert sorted(scene.verdicts().values()) == ["correct", "correct", "wrong value"]


def test_the_call_said_after_its_place_is_the_one_out_of_order(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say_all((RIGHT[0], RIGHT[2], RIGHT[1]))
    assert scene.verdicts() == {"turn": "correct", "down": "out of order", "twist": "correct"}
    assert scene.grade().order.got == 2


def test_late_by_the_onset_of_the_call_not_by_its_end(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say(RIGHT[0], after=7.9).say_all(RIGHT[1:])
    assert set(scene.verdicts().values()) == {"correct"}
    scene = Scene(drill).begin("step 1").say(RIGHT[0], after=8.2).say_all(RIGHT[1:])
    assert scene.verdicts()["turn"] == "late"
    late = next(d for d in scene.decisions if isinstance(d, Settled) and d.verdict == "late")
    assert late.late_seconds == pytest.approx(0.2)


def test_one_omission_is_one_missed_and_the_rest_are_judged_from_where_they_are(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say(RIGHT[0]).say(RIGHT[2], after=7.0)
    scene.end()
    assert scene.verdicts() == {"turn": "correct", "down": "missed", "twist": "correct"}


def test_speech_under_way_at_the_limit_is_waited_for(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say_all(RIGHT[:2])
    scene.say(RIGHT[2], after=13.2)
    assert scene.verdicts()["twist"] == "late"


def test_deaf_and_cue_time_is_nobodys(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").wait(5.0).deaf(60.0).wait(2.0).cue("something else", 30.0)
    scene.say_all(RIGHT, after=0.5)
    assert set(scene.verdicts().values()) == {"correct"}


def test_a_pause_stands_still_and_hears_nothing(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say("trainer freeze")
    scene.send(Paused(at_seconds=scene.now, reason="asked"))
    scene.wait(300.0).say("turn right heading 323")
    assert not any(isinstance(d, Accepted) for d in scene.decisions)
    scene.send(Resumed(at_seconds=scene.now))
    scene.say_all(RIGHT)
    assert set(scene.verdicts().values()) == {"correct"}


def test_a_correction_replaces_the_value_and_is_right(drill: Drill) -> None:
    scene = (
        Scene(drill).begin("step 1").say("turn right heading 323").say("correction turn right heading 333")
    )
    scene.say_all(RIGHT[1:])
    turn = next(v for v in scene.grade().verdicts if v.call == "turn")
    assert (turn.verdict, turn.corrected) == ("correct", True)


def test_a_correction_in_the_same_breath_flies_only_the_last_value(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1")
    scene.say("turn right heading 323 correction turn right heading 333")
    accepted = [d for d in scene.decisions if isinstance(d, Accepted)]
    assert [a.slots["heading"] for a in accepted] == ["333"]


def test_a_correction_after_the_flow_has_closed_changes_the_verdict(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say_all((*RIGHT[:2], "set course 323")).wait(5.0).tick()
    assert scene.verdicts()["twist"] == "wrong value"
    scene.say("correction set course 333")
    assert scene.verdicts()["twist"] == "correct"


def test_a_finished_flow_with_a_wrong_value_waits_for_the_correction(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say_all((*RIGHT[:2], "set course 323"))
    assert scene.verdicts() == {}
    scene.say("correction set course 333", after=2.0)
    assert scene.verdicts()["twist"] == "correct"


def test_said_twice_the_first_counts(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say(RIGHT[0]).say("turn right heading 323").say_all(RIGHT[1:])
    assert set(scene.verdicts().values()) == {"correct"}
    assert any(isinstance(d, Extra) and d.note == "said before" for d in scene.decisions)


def test_self_talk_and_the_trades_own_sentences_are_free(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say("let me see so").say("stand by").say_all(RIGHT)
    assert scene.end().total.percent == 100.0


def test_a_readback_in_any_order(drill: Drill) -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1")
    scene.say("Heron 24, altimeter 29 84, maintain 2900")
    assert set(scene.verdicts().values()) == {"correct"}


def test_what_is_left_out_of_a_readback_is_asked_for_once_and_then_incomplete() -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1").say("maintain 2900, Heron 24").wait(3.0).tick()
    asked = [d for d in scene.decisions if isinstance(d, AskFor)]
    assert [(a.call, a.text) for a in asked] == [("altimeter", "say the altimeter")]
    scene.cue("question: step 1").say("altimeter 2984")
    assert scene.verdicts() == {"altitude": "correct", "altimeter": "incomplete", "callsign": "correct"}


def asked_for(scene: Scene) -> list[str]:
    return [d.call for d in scene.decisions if isinstance(d, AskFor)]


def test_who_hums_in_a_readback_is_not_asked_for_the_rest_at_once() -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1").say("maintain 2900, Heron 24")
    scene.say("garden", after=0.9, clarity="not a call").wait(1.5).tick()
    assert asked_for(scene) == []
    scene.wait(1.0).tick()
    assert asked_for(scene) == ["altimeter"]


def test_talk_of_others_in_a_readback_postpones_nothing() -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1").say("maintain 2900, Heron 24")
    scene.say("we went to see the garden by the river", after=0.9, clarity="not a call").tick()
    assert asked_for(scene) == ["altimeter"]


def test_who_hums_on_and_on_has_no_more_time_for_it() -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1").say("maintain 2900, Heron 24")
    for _ in range(60):
        scene.say("garden", after=0.9, clarity="not a call")
    assert scene.verdicts()["altimeter"] == "missed"


def test_a_readback_item_not_given_when_asked_for_is_missed() -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1").say("maintain 2900, Heron 24").wait(3.0).tick()
    scene.cue("question: step 1")
    scene.end()
    assert scene.verdicts()["altimeter"] == "missed"
    assert sum(isinstance(d, AskFor) for d in scene.decisions) == 1


def test_unclear_is_asked_again_once_and_the_first_onset_counts(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say(RIGHT[0], after=7.5, clarity="unclear")
    assert sum(isinstance(d, AskAgain) for d in scene.decisions) == 1
    scene.cue("question: step 1").say_all(RIGHT, after=2.0)
    assert set(scene.verdicts().values()) == {"correct"}
    onset = next(d.onset_seconds for d in scene.decisions if isinstance(d, Accepted))
    assert onset == pytest.approx(9.5)


def test_what_was_late_when_it_was_unclear_is_late_when_it_is_repeated(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say(RIGHT[0], after=12.0, clarity="unclear")
    scene.cue("question: step 1").say_all(RIGHT, after=2.0)
    assert scene.verdicts() == {"turn": "late", "down": "correct", "twist": "correct"}


def test_what_is_asked_for_again_at_the_last_moment_is_waited_for(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say(RIGHT[0], after=13.5, clarity="unclear")
    assert not any(isinstance(d, Settled) for d in scene.decisions)
    scene.cue("question: step 1").say(RIGHT[0], after=6.0)
    assert [d.call for d in scene.decisions if isinstance(d, Accepted)] == ["turn"]


def test_every_call_of_a_flow_may_be_asked_for_again_once(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1")
    for text in RIGHT:
        scene.say(text, clarity="unclear").cue("question: step 1").say(text)
    assert sum(isinstance(d, AskAgain) for d in scene.decisions) == 3
    assert set(scene.verdicts().values()) == {"correct"}


def test_unclear_is_asked_again_at_most_twice_then_settled_as_unclear_and_not_counted(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1")
    for _ in range(3):
        scene.say(RIGHT[0], clarity="unclear").cue("question: step 1")
    scene.say_all(RIGHT[1:])
    grade = scene.end()
    assert sum(isinstance(d, AskAgain) for d in scene.decisions) == 2
    assert scene.verdicts() == {"turn": "unclear", "down": "correct", "twist": "correct"}
    assert (grade.total.got, grade.total.of) == (2, 2)


def test_after_two_questions_the_first_onset_still_counts(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say(RIGHT[0], after=7.5, clarity="unclear")
    scene.cue("question: step 1").say(RIGHT[0], after=3.0, clarity="unclear")
    scene.cue("question: step 1").say(RIGHT[0], after=3.0)
    onset = next(d.onset_seconds for d in scene.decisions if isinstance(d, Accepted))
    assert onset == pytest.approx(9.5)
    scene.say_all(RIGHT[1:])
    assert set(scene.verdicts().values()) == {"correct"}


def test_not_a_call_leaves_nothing_but_its_length(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say("turn right heading 333", clarity="not a call")
    extra = next(d for d in scene.decisions if isinstance(d, Extra))
    assert (extra.said, extra.note) == ("", "not a call")
    assert not any(isinstance(d, Accepted) for d in scene.decisions)


def test_own_words_near_a_call_are_asked_again_with_its_wording_never_taken_for_it(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say("turning to the right heading 333")
    ask = next(d for d in scene.decisions if isinstance(d, AskAgain))
    assert ask.wording == "turn right heading ..."
    assert not any(isinstance(d, Accepted) for d in scene.decisions)


def test_declared_synonyms_are_the_call() -> None:
    drill = drill_of(STRICT, synonyms={"turn": ["coming", "turning"]})
    scene = Scene(drill).begin("step 1").say("coming right 333").say_all(RIGHT[1:])
    assert set(scene.verdicts().values()) == {"correct"}


def test_a_forbidden_call_is_critical_and_apart_from_the_score() -> None:
    flow = {
        "calls": [
            TURN,
            {"call": "sight", "say": "runway in sight", "need": "forbidden", "because": "It is not."},
        ]
    }
    scene = Scene(drill_of(flow)).begin("step 1").say("runway in sight").say(RIGHT[0])
    grade = scene.end()
    assert grade.total.percent == 100.0
    assert [c.reason for c in grade.critical] == ["It is not."]


def test_optional_calls_neither_earn_nor_cost() -> None:
    flow = {"calls": [TURN, DOWN | {"need": "optional"}]}
    without = Scene(drill_of(flow)).begin("step 1").say(RIGHT[0]).end()
    with_it = Scene(drill_of(flow)).begin("step 1").say_all(RIGHT[1::-1]).end()
    assert (without.total.got, without.total.of) == (with_it.total.got, with_it.total.of) == (1, 1)


def flown_drill() -> Drill:
    slow = {"call": "slow", "say": "slow to {speed: 110}", "window": {"opens": "nearing KLD"}}
    steps = [
        {"step": "start", "when": "start", "cue": {"speaker": "instructor", "say": "go"}},
        {"step": "crossing", "when": "passage KLD", "flow": {"order": "any", "calls": [slow, TURN]}},
    ]
    return Drill.model_validate(FLOWN_HEAD | {"steps": steps})


def test_a_window_may_open_before_its_step() -> None:
    scene = Scene(flown_drill()).begin("start").fly("nearing KLD").say("slow to 110")
    scene.fly("passage KLD").begin("crossing").say(RIGHT[0])
    assert scene.verdicts() == {"slow": "correct", "turn": "correct"}


def test_before_its_window_a_call_is_early_and_still_done() -> None:
    scene = Scene(flown_drill()).begin("start").say("slow to 110").fly("nearing KLD")
    scene.fly("passage KLD").begin("crossing").say(RIGHT[0])
    assert scene.verdicts() == {"slow": "early", "turn": "correct"}
    assert [d.call for d in scene.decisions if isinstance(d, Accepted)] == ["slow", "turn"]


def test_ended_by_the_student_what_was_never_reached_is_not_counted() -> None:
    drill = drill_of(STRICT, {"calls": [{"call": "later", "say": "gear down"}]})
    scene = Scene(drill).begin("step 1").say_all(RIGHT)
    assert "later" not in {v.call for v in scene.end("by the student").verdicts}
    scene = Scene(drill).begin("step 1").say_all(RIGHT)
    assert {v.call: v.verdict for v in scene.end("time limit").verdicts}["later"] == "missed"


def test_unclear_once_more_than_is_asked_is_the_call_after_it(drill: Drill) -> None:
    """Whoever was asked as often as may be goes on; the next call is not held against them, and asked about."""
    scene = Scene(drill).begin("step 1")
    for _ in range(4):
        scene.say("mumbled", clarity="unclear").cue("question: step 1")
    assert sum(isinstance(d, AskAgain) for d in scene.decisions) == 3
    scene.say(RIGHT[2]).end()
    assert scene.verdicts() == {"turn": "unclear", "down": "unclear", "twist": "correct"}


def test_no_asking_again_when_the_settings_say_so(drill: Drill) -> None:
    scene = Scene(drill, Settings(most_asks=0)).begin("step 1").say(RIGHT[0], clarity="unclear")
    assert not any(isinstance(d, AskAgain) for d in scene.decisions)


def test_the_time_that_one_call_takes_is_not_held_against_another_flow() -> None:
    clock = {"call": "clock", "say": "start the clock", "window": {"within_seconds": 3}}
    steps = [
        {"step": "crossing", "when": "start", "flow": {"calls": [TURN, DOWN]}},
        {"step": "level", "when": "wings level", "flow": {"calls": [clock]}},
    ]
    drill = Drill.model_validate(FLOWN_HEAD | {"steps": steps})
    scene = Scene(drill).begin("crossing").say(RIGHT[0]).fly("wings level 333").begin("level")
    scene.say(RIGHT[1], after=0.2).say("start the clock", after=0.5)
    assert scene.verdicts()["clock"] == "correct"
    silent = Scene(drill).begin("crossing").say(RIGHT[0]).fly("wings level 333").begin("level")
    silent.say("start the clock", after=3.5)
    assert silent.verdicts()["clock"] == "late"


def test_a_grouped_number_is_the_right_value_with_a_remark_on_style(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say("turn right heading three thirty three").say_all(RIGHT[1:])
    turn = next(v for v in scene.grade().verdicts if v.call == "turn")
    assert turn.verdict == "correct"
    assert any("three three three" in remark for remark in turn.remarks)


REPORT = {"calls": [{"call": "report", "say": "{callsign: Heron 24} kelda outbound"}]}


@pytest.mark.parametrize(
    ("rule", "verdict", "remarks"),
    [
        ("remark", "correct", ("no callsign: say heron two four",)),
        ("incomplete", "incomplete", ()),
        (None, "missed", ()),
    ],
)
def test_a_report_without_its_callsign_is_what_the_house_makes_of_it(
    rule: str | None, verdict: str, remarks: tuple[str, ...]
) -> None:
    scene = Scene(drill_of(REPORT, without_callsign=rule)).begin("step 1").say("kelda outbound")
    (settled,) = scene.end().verdicts
    assert (settled.verdict, settled.remarks) == (verdict, remarks)
    if rule == "incomplete":
        assert settled.reason == "The callsign is missing: it is Heron 24."


def test_a_short_callsign_is_right_after_first_contact() -> None:
    drill = drill_of(
        {"calls": [{"call": "first", "say": "{callsign: N123AB} outbound"}]},
        {"calls": [{"call": "second", "say": "{callsign: N123AB} inbound"}]},
    )
    scene = Scene(drill).begin("step 1").say("november three alfa bravo outbound").begin("step 2")
    scene.say("november three alfa bravo inbound").end()
    assert scene.verdicts() == {"first": "wrong value", "second": "correct"}


BRIEF = {
    "order": "any",
    "closing_question": "Anything else?",
    "calls": [
        {"call": "course", "say": "course {course: 153}"},
        {"call": "minimums", "say": "minimums {minimums: 820}"},
        {"call": "missed", "say": "climb {altitude: 3000}"},
    ],
}


def test_a_closing_question_is_put_once_and_names_nothing() -> None:
    scene = Scene(drill_of(BRIEF)).begin("step 1").say("course 153").wait(5.5).tick()
    asked = [d for d in scene.decisions if isinstance(d, AskForRest)]
    assert [d.text for d in asked] == ["Anything else?"]
    scene.cue("question: step 1").say("minimums 820", after=4.0)
    grade = scene.end()
    assert scene.verdicts() == {"course": "correct", "minimums": "incomplete", "missed": "missed"}
    assert [v.reason for v in grade.verdicts][1:] == [
        "Given only when asked: 'Anything else?'.",
        "Left out, and not given when asked: 'Anything else?'.",
    ]
    assert sum(isinstance(d, AskForRest) for d in scene.decisions) == 1
    assert not any(isinstance(d, AskFor) for d in scene.decisions)


def test_no_closing_question_to_who_says_nothing_or_all() -> None:
    silent = Scene(drill_of(BRIEF)).begin("step 1")
    silent.end()
    whole = Scene(drill_of(BRIEF)).begin("step 1").say_all(("course 153", "climb 3000", "minimums 820"))
    whole.end()
    for scene in (silent, whole):
        assert not any(isinstance(d, AskForRest) for d in scene.decisions)
    assert set(silent.verdicts().values()) == {"missed"}
    assert set(whole.verdicts().values()) == {"correct"}


def test_a_flow_asks_by_name_or_puts_a_closing_question_not_both() -> None:
    with pytest.raises(ValueError, match="give one of them"):
        drill_of(BRIEF | {"asks": True})


def test_how_the_scores_are_made_is_told_in_words(drill: Drill) -> None:
    scene = Scene(drill).begin("step 1").say_all(("turn right heading 323", RIGHT[2]))
    assert in_words(scene.end()) == (
        "Total: 1 correct at 1, 1 wrong value at 0, 1 missed at 0.",
        "Completeness: 2 of 3 calls were said.",
        "Accuracy: 1 of 2 of those have every value right.",
        "Timing: 2 of 2 of those were neither early nor late.",
        "Order: 1 of 1 pairs of calls, where an order is set, were said in it.",
    )


MENTAL = drill_of({"calls": [TURN | {"within": {"heading": 2}}]})


@pytest.mark.parametrize(
    ("said", "verdict", "remarks"),
    [
        ("turn right heading 333", "correct", ()),
        ("turn right heading 335", "correct", ("heading 333 is exact",)),
        ("turn right heading 331", "correct", ("heading 333 is exact",)),
        ("turn right heading 336", "wrong value", ()),
        ("turn left heading 334", "wrong value", ("heading 333 is exact",)),
    ],
)
def test_a_value_from_the_head_may_be_a_little_off_where_the_call_says_so(
    said: str, verdict: str, remarks: tuple[str, ...]
) -> None:
    (found,) = Scene(MENTAL).begin("step 1").say(said).end().verdicts
    assert (found.verdict, found.remarks) == (verdict, remarks)


def test_north_is_as_near_to_the_right_as_to_the_left() -> None:
    north = {"call": "turn", "say": "turn right [heading] {heading: 360}", "within": {"heading": 2}}
    (found,) = (
        Scene(drill_of({"calls": [north]})).begin("step 1").say("turn right heading 002").end().verdicts
    )
    assert found.verdict == "correct"


def test_a_time_from_the_head_may_be_a_few_seconds_off() -> None:
    timing = {"call": "time", "say": "timing {duration: 2:34}", "within": {"duration": 3}}
    drill = drill_of({"calls": [timing]})
    assert Scene(drill).begin("step 1").say("timing 2:37").end().verdicts[0].verdict == "correct"
    assert Scene(drill).begin("step 1").say("timing 2:38").end().verdicts[0].verdict == "wrong value"
