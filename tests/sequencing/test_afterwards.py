"""After the end of a drill: a verdict is disputed, or the rest is flown again from before the last fix."""

from __future__ import annotations

import math

import pytest

from tests.scenes import drill_of
from tests.sequencing.chair import Chair
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.flight.wind import Wind
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import (
    AnyFact,
    Commanded,
    Disputed,
    Ended,
    Flown,
    Header,
    Heard,
    LevelChanged,
    PaceChanged,
    Position,
    Settings,
    StepBegan,
)
from voice_trainer.journal.utterances import utterances
from voice_trainer.library.builtin import find_drill
from voice_trainer.library.flown import Wanted
from voice_trainer.recognition.typed import hear_text
from voice_trainer.sequencing.airborne import Airborne
from voice_trainer.sequencing.commands import Finish, Speak
from voice_trainer.sequencing.from_the_fix import LEAD_SECONDS, from_the_fix
from voice_trainer.session.rehearsal import rehearse

GEAR = {"calls": [{"call": "gear down", "say": "gear down three green", "window": {"within_seconds": 4}}]}


def ended() -> Chair:
    chair = Chair(drill_of(GEAR), Settings(mode="fly through"))
    chair.listen(20.0)
    chair.send(Ended(at_seconds=chair.now, reason="finished"))
    return chair


def say_afterwards(chair: Chair, text: str) -> list[object]:
    chair.now += 5.0
    hearing = hear_text(text, domain_of(chair.sequencer.drill), chair.now, 0.3)
    return list(chair.send(Heard(at_seconds=hearing.end_seconds, hearing=hearing)))


def verdict(chair: Chair) -> str:
    drill, settings = chair.sequencer.drill, chair.sequencer.settings
    header = Header(program="t", session="s", started_utc="", drill=drill.model_dump(), settings=settings)
    assert differences(chair.records, replay(drill, settings, chair.records)) == []
    return debrief_of(header, chair.records).grade.verdicts[0].verdict


def test_what_is_not_made_out_afterwards_is_asked_for_twice_and_no_more() -> None:
    chair = ended()

    def unclear() -> list[object]:
        chair.now += 5.0
        hearing = hear_text("gear down three green", domain_of(chair.sequencer.drill), chair.now, 0.3)
        hearing = hearing.model_copy(update={"clarity": "unclear"})
        return [
            c
            for c in chair.send(Heard(at_seconds=hearing.end_seconds, hearing=hearing))
            if isinstance(c, Speak)
        ]

    asked = [len(unclear()) for _ in range(4)]
    assert asked == [1, 1, 0, 0]
    say_afterwards(chair, "i said that")
    assert len(unclear()) == 1


@pytest.mark.parametrize("said", ["i said that", "i said gear down", "trainer i said the gear down"])
def test_a_verdict_can_be_disputed_when_all_is_over(said: str) -> None:
    chair = ended()
    assert verdict(chair) == "missed"
    answer = say_afterwards(chair, said)
    assert [c.text for c in answer if isinstance(c, Speak)] == ["Disputed: gear down."]
    assert [type(r) for r in chair.records if isinstance(r, Disputed)] == [Disputed]
    assert verdict(chair) == "disputed"


@pytest.mark.parametrize(
    "said", ["gear down three green", "trainer freeze", "trainer skip", "trainer next event"]
)
def test_nothing_is_judged_any_more(said: str) -> None:
    chair = ended()
    assert say_afterwards(chair, said) == []
    assert verdict(chair) == "missed"


def test_what_is_said_afterwards_is_no_utterance_of_the_session() -> None:
    chair = ended()
    before = len(utterances(chair.records))
    say_afterwards(chair, "i said that")
    assert len(utterances(chair.records)) == before


@pytest.mark.parametrize(("said", "reason"), [("trainer again", "again"), ("trainer end", "by the student")])
def test_again_and_end_are_heard(said: str, reason: str) -> None:
    assert say_afterwards(ended(), said) == [Finish(reason)]


@pytest.mark.parametrize(
    ("said", "answer", "kind"),
    [("trainer slower", "Slower.", PaceChanged), ("trainer read along", "Read along.", LevelChanged)],
)
def test_pace_and_level_of_the_next_drill_can_be_asked_for(
    said: str, answer: str, kind: type[AnyFact]
) -> None:
    chair = ended()
    (told,) = say_afterwards(chair, said)
    assert isinstance(told, Speak)
    assert told.text == answer
    assert sum(isinstance(record, kind) for record in chair.records) == 1
    assert verdict(chair) == "missed"


def test_without_a_fix_there_is_none_to_go_back_to() -> None:
    (answer,) = say_afterwards(ended(), "again from the fix")
    assert isinstance(answer, Speak)
    assert answer.text == "There is nothing to go back to."


APPROACH = find_drill("kelda-vor-approach")
FINAL = "final approach fix"


def flown_to_the_final_fix() -> list[AnyFact]:
    """The journal of somebody who came to Kelda inbound at 1,900 feet and 110 knots, heading 162."""
    place = {"east_nm": 0.0, "north_nm": 0.0, "altitude_feet": 1899.7, "airspeed_knots": 110.2}
    return [
        StepBegan(at_seconds=40.0, step="crossing outbound"),
        Commanded(at_seconds=50.0, verb="course", slots={"course": "153"}, by="student"),
        Position(at_seconds=299.0, heading_degrees=162.0, **place),
        Flown(at_seconds=300.0, name="passage KLD"),
        StepBegan(at_seconds=300.0, step=FINAL),
        Position(at_seconds=310.0, heading_degrees=170.0, **place),
    ]


def test_the_rest_is_flown_again_from_before_the_fix_in_the_same_wind() -> None:
    rest = from_the_fix(APPROACH, flown_to_the_final_fix())
    assert rest is not None
    start, before = rest.aeroplane, APPROACH.aeroplane
    assert start is not None
    assert before is not None
    assert (start.wind_from_degrees, start.wind_knots) == (before.wind_from_degrees, before.wind_knots)
    assert (start.heading_degrees, start.course_degrees, start.altitude_feet) == (162.0, 153.0, 1900.0)
    names = [step.step for step in APPROACH.steps]
    assert [step.step for step in rest.steps][1:] == names[names.index(FINAL) :]
    flight = Airborne.of(rest)
    assert flight is not None
    (passage,) = [e.at_seconds for e in flight.advance(60.0) if e.name.startswith("passage KLD")]
    assert passage == pytest.approx(LEAD_SECONDS, abs=2.0)
    # The wind triangle: 110 knots, heading 162, wind 240 at 18 make about 108 knots over the ground.
    assert start.distance_nm == pytest.approx(108 * LEAD_SECONDS / 3600, abs=0.02)
    assert math.isclose(start.radial_degrees, 333, abs_tol=2)


def test_a_derived_approach_begins_again_before_its_final_fix_set_up_as_it_was() -> None:
    """Although it has crossed the same station once more, to hold."""
    drill = find_drill("kelda-vor-15", 0, Wanted(wind=Wind(240, 18)))
    records = rehearse(drill)
    rest = from_the_fix(drill, records)
    assert rest is not None
    assert [step.step for step in rest.steps][:2] == ["again from the fix", FINAL]
    start = rest.aeroplane
    assert start is not None
    assert (start.tuned, start.direct_to, start.tracked_course_degrees) == ("KLD", None, 153)
    assert (start.gear, start.flaps, start.altitude_feet, start.airspeed_knots) == (
        "down",
        "approach",
        1900,
        110,
    )
    assert [(each.segment, each.begins) for each in rest.segments][:2] == [
        ("inbound", "start"),
        ("final", "passage KLD"),
    ]
    flight = Airborne.of(Drill.model_validate(rest.model_dump()))
    assert flight is not None
    (passage,) = [e.at_seconds for e in flight.advance(120.0) if e.name.startswith("passage KLD")]
    assert passage == pytest.approx(LEAD_SECONDS, abs=2.0)
    # Still on the course, a minute and a half after the fix, with nobody turning.
    vor = flight.flight.vor
    place = flight.position()
    assert vor.radial_degrees(place["east_nm"], place["north_nm"]) == pytest.approx(153, abs=1.0)


def test_what_did_not_come_to_a_fix_has_none() -> None:
    assert from_the_fix(APPROACH, flown_to_the_final_fix()[2:3]) is None
    assert from_the_fix(find_drill("brannock-clearance"), flown_to_the_final_fix()) is None
