"""Taking back: 'correction' before a whole call, a part of one, or a bare value; 'disregard'."""

from __future__ import annotations

import pytest

from tests.scenes import Scene, drill_of
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import Accepted, AskAgain, Extra, Settled, Withdrawn
from voice_trainer.journal.hearing import Clarity

HEADING = {"call": "heading", "say": "[turn] left [heading] {heading: 310}"}
ALTITUDE = {"call": "altitude", "say": "[maintain] {altitude: 2600}"}
CALLSIGN = {"call": "callsign", "say": "{callsign: Heron 24}"}
READBACK = {"order": "any", "calls": [HEADING, ALTITUDE, CALLSIGN]}
TURN = {"call": "turn", "say": "turn right [heading] {heading: 333}"}
DOWN = {"call": "down", "say": "descend [and maintain] {altitude: 2600}"}
TWIST = {"call": "twist", "say": "set course {course: 153}"}
STRICT = {"order": "strict", "calls": [TURN, DOWN, TWIST]}


def flown(scene: Scene, call: str) -> list[dict[str, str]]:
    """The values that the aeroplane was given for a call, in order."""
    return [d.slots for d in scene.decisions if isinstance(d, Accepted) and d.call == call]


def settled(scene: Scene, call: str) -> Settled:
    return next(v for v in scene.grade().verdicts if v.call == call)


BREATHS = [
    ("turn left heading three one one correction three one zero",),
    ("turn left heading three one one", "correction three one zero"),
    ("turn left heading three one one correction heading three one zero",),
    ("turn left heading three one one", "correction heading three one zero"),
    ("turn left heading three one one", "correction left heading three one zero"),
    ("turn left heading three one one", "correction turn left heading three one zero"),
    ("turn left heading three one one correction", "three one zero"),
    ("turn left heading three one one", "correction", "three one zero"),
    ("turn left heading three one one", "correction", "turn left heading three one zero"),
    ("turn right heading three one zero", "correction left"),
    ("turn right heading three one zero correction left",),
    ("turn right heading three one one correction left heading three one zero",),
    ("turn left heading three one two correction three one one correction three one zero",),
    ("turn left heading three one one disregard turn left heading three one zero",),
]


@pytest.mark.parametrize("breaths", BREATHS)
def test_a_value_is_corrected_by_whatever_part_of_its_call(breaths: tuple[str, ...]) -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1").say_all(breaths)
    scene.say("maintain two thousand six hundred").say("Heron two four").end()
    assert scene.verdicts() == {"heading": "correct", "altitude": "correct", "callsign": "correct"}
    assert flown(scene, "heading")[-1] == {"left/right": "left", "heading": "310"}
    assert flown(scene, "altitude") == [{"altitude": "2600"}]


@pytest.mark.parametrize("breaths", BREATHS[:8])
def test_a_corrected_call_says_so_and_keeps_the_onset_of_its_first_saying(breaths: tuple[str, ...]) -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1").say_all(breaths)
    scene.say("maintain two thousand six hundred, Heron two four").end()
    verdict = settled(scene, "heading")
    assert verdict.corrected
    assert verdict.reason.startswith("Corrected, and right")
    assert verdict.onset_seconds == pytest.approx(3.0)
    assert not any(settled(scene, call).corrected for call in ("altitude", "callsign"))


@pytest.mark.parametrize("breaths", [BREATHS[0], BREATHS[2]])
def test_what_is_taken_back_in_the_same_breath_is_never_flown(breaths: tuple[str, ...]) -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1").say_all(breaths)
    assert flown(scene, "heading") == [{"left/right": "left", "heading": "310"}]


@pytest.mark.parametrize(
    ("said", "heading", "altitude"),
    [
        ("left 311, maintain 2600, correction three one zero", "310", "2600"),
        ("left 310, maintain 2900, correction two thousand six hundred", "310", "2600"),
        ("maintain 2600, left 311, correction three one zero", "310", "2600"),
        ("left 311, correction three one zero, maintain 2600", "310", "2600"),
    ],
)
def test_a_bare_value_belongs_to_the_last_call_that_has_such_a_value(
    said: str, heading: str, altitude: str
) -> None:
    for breaths in ([f"{said}, Heron 24"], [*said.split(", "), "Heron 24"]):
        scene = Scene(drill_of(READBACK)).begin("step 1").say_all(breaths)
        assert flown(scene, "heading")[-1]["heading"] == heading
        assert flown(scene, "altitude")[-1]["altitude"] == altitude
        assert set(scene.verdicts().values()) == {"correct"}


def test_of_two_calls_with_such_a_value_the_one_said_last() -> None:
    scene = Scene(drill_of(STRICT)).begin("step 1")
    scene.say_all(("turn right 333", "descend 2600", "set course 151", "correction one five three"))
    assert scene.verdicts() == {"turn": "correct", "down": "correct", "twist": "correct"}
    assert settled(scene, "twist").corrected


def test_where_the_last_call_had_that_value_already_an_earlier_one_is_put_right() -> None:
    drill = drill_of({"calls": [TURN, {"call": "twist", "say": "set course {course: 333}"}]})
    scene = Scene(drill).begin("step 1").say_all(("turn right 323", "set course 333", "correction 333"))
    assert scene.verdicts() == {"turn": "correct", "twist": "correct"}


def test_a_correction_to_a_wrong_value_is_wrong_with_the_last_value_in_its_reason() -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1").say("left heading 310 correction three one one")
    scene.say("maintain 2600, Heron 24").end()
    assert scene.verdicts()["heading"] == "wrong value"
    assert settled(scene, "heading").reason == "Said heading 311; it is heading 310."


def test_a_call_begun_wrongly_and_corrected_to_another_is_not_praised_as_corrected() -> None:
    scene = Scene(drill_of(STRICT)).begin("step 1").say("turn right 333").say("correction descend 2600")
    scene.say("set course 153")
    assert set(scene.verdicts().values()) == {"correct"}
    assert not settled(scene, "down").corrected


def test_the_trades_own_wording_behind_correction_names_the_value() -> None:
    scene = Scene(drill_of(STRICT)).begin("step 1").say("turn right 333").say("descend 2900")
    scene.say("correction, maintain 2600").say("set course 153")
    assert set(scene.verdicts().values()) == {"correct"}


def test_a_value_behind_correction_that_no_call_fits_changes_nothing() -> None:
    scene = Scene(drill_of(STRICT)).begin("step 1").say("turn right 333").say("correction squawk 4321")
    assert flown(scene, "turn") == [{"left/right": "right", "heading": "333"}]
    assert any(isinstance(d, Extra) and "squawk" in d.said for d in scene.decisions)


@pytest.mark.parametrize("clarity", ["not a call", "unclear"])
def test_after_a_bare_correction_what_was_not_made_out_is_asked_for_with_the_wording(
    clarity: Clarity,
) -> None:
    scene = Scene(drill_of(STRICT)).begin("step 1").say("turn right heading 323 correction")
    scene.say("three three three", clarity=clarity)
    ask = next(d for d in scene.decisions if isinstance(d, AskAgain))
    assert ask.wording == "turn right heading ..."
    scene.say("turn right heading 333").say_all(("descend 2600", "set course 153"))
    assert set(scene.verdicts().values()) == {"correct"}


def test_an_unclear_correction_is_asked_for_again_and_is_nobody_elses_call() -> None:
    scene = Scene(drill_of(STRICT)).begin("step 1").say("turn right heading 323")
    scene.say("correction three three three", clarity="unclear")
    assert sum(isinstance(d, AskAgain) for d in scene.decisions) == 1
    scene.say("correction three three three").end()
    assert scene.verdicts() == {"turn": "correct", "down": "missed", "twist": "missed"}


def test_disregard_withdraws_the_last_call_which_is_owed_again() -> None:
    scene = Scene(drill_of(STRICT)).begin("step 1").say("turn right 323").say("disregard")
    assert [d.call for d in scene.decisions if isinstance(d, Withdrawn)] == ["turn"]
    scene.say_all(("turn right 333", "descend 2600", "set course 153"))
    assert set(scene.verdicts().values()) == {"correct"}
    gone = Scene(drill_of(STRICT)).begin("step 1").say("turn right 323").say("disregard")
    gone.say_all(("descend 2600", "set course 153")).end()
    assert settled(gone, "turn").verdict == "missed"
    assert settled(gone, "turn").reason == "Withdrawn, and not said again."


def test_disregard_with_nothing_to_withdraw_is_nobodys() -> None:
    scene = Scene(drill_of(STRICT)).begin("step 1").say("disregard")
    assert [d.said for d in scene.decisions if isinstance(d, Extra)] == ["disregard"]


@pytest.mark.parametrize("value", ["310", "295"])
def test_what_is_heard_behind_correction_does_not_depend_on_what_is_expected(value: str) -> None:
    def readback(heading: str) -> Drill:
        return drill_of({"calls": [HEADING | {"say": f"[turn] left [heading] {{heading: {heading}}}"}]})

    one, other = Scene(readback(value)), Scene(readback("120"))
    assert [p.pattern.text for p in one.grammar.phrases] == [p.pattern.text for p in other.grammar.phrases]
