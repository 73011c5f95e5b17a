"""The levels: read along, prompted, cold, under load."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.scenes import Scene, drill_of
from tests.sequencing.chair import Chair, flown
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import CueEnded, CueStarted, Settings, Settled, StepBegan
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.sequencing.commands import Speak
from voice_trainer.sequencing.load import CHATTER, load_of

CALLS = [
    {"call": "turn", "say": "turn right [heading] {heading: 333}"},
    {"call": "talk", "say": "kelda outbound"},
]
TWO = {"order": "strict", "calls": CALLS}


def lines(chair: Chair, seconds: float) -> list[tuple[str, str]]:
    return [(line.cue, line.text) for line in chair.listen(seconds)]


def of_call(chair: Chair, call: str) -> Settled:
    return next(r for r in chair.records if isinstance(r, Settled) and r.call == call)


def test_read_along_says_each_call_before_the_student_does() -> None:
    chair = Chair(drill_of(TWO), Settings(level="read along"))
    assert lines(chair, 3.0)[1:] == [
        ("read along: step 1", "Read along: turn right heading three three three.")
    ]
    chair.tick(15.0)  # windows are generous
    chair.say("turn right 333")
    assert lines(chair, 3.0) == [("read along: step 1", "Read along: kelda outbound.")]
    chair.say("kelda outbound")
    assert {of_call(chair, "turn").verdict, of_call(chair, "talk").verdict} == {"correct"}


def test_read_along_leaves_out_what_was_said_in_the_same_breath() -> None:
    chair = Chair(drill_of(TWO, TWO), Settings(level="read along"))
    chair.listen(1.0)
    chair.say("turn right 333 kelda outbound")
    assert [cue for cue, _ in lines(chair, 2.0)] == ["step 2", "read along: step 2"]


def test_cold_leaves_it_to_the_student_to_notice() -> None:
    steps = (
        {
            "step": "over",
            "when": "passage KLD",
            "cue": {"speaker": "aeroplane", "say": "flag flips"},
            "flow": TWO,
        },
    )
    chair = Chair(flown(*steps), Settings(level="cold"))
    assert chair.listen(37.0) == []
    assert any(isinstance(r, StepBegan) for r in chair.records)
    chair.say("trainer say again")
    assert lines(chair, 0.5) == [("again: over", "flag flips")]
    chair.say("turn right 333")
    chair.say("kelda outbound")
    assert of_call(chair, "turn").verdict == "correct"


@pytest.mark.parametrize(
    ("cue", "spoken"),
    [
        ({"speaker": "aeroplane"}, False),
        ({"speaker": "aeroplane", "noticed": False}, True),
        ({"speaker": "aeroplane", "urgent": True}, True),
        ({"speaker": "instructor"}, True),
        ({"speaker": "controller", "noticed": True}, False),
    ],
)
def test_what_cold_keeps_silent(cue: dict[str, object], spoken: bool) -> None:
    drill = drill_of(TWO)
    step = drill.steps[0].model_dump() | {"cue": cue | {"say": "look"}}
    chair = Chair(Drill.model_validate(drill.model_dump() | {"steps": [step]}), Settings(level="cold"))
    assert bool(chair.listen(1.0)) == spoken
    if not spoken:  # the first call is timed from the moment to be noticed
        chair.tick(9.0)
        chair.say("turn right 333")
        chair.say("kelda outbound")
        assert of_call(chair, "turn").verdict == "late"


def test_a_silent_step_without_calls_is_over_at_once() -> None:
    steps = [
        {"step": "look", "when": "start", "cue": {"speaker": "aeroplane", "say": "from"}},
        {"step": "go", "cue": {"speaker": "instructor", "say": "go"}, "flow": TWO},
    ]
    head = {"drill": "d", "title": "D", "kind": "radio", "trains": "t"}
    chair = Chair(Drill.model_validate(head | {"steps": steps}), Settings(level="cold"))
    assert [cue for cue, _ in lines(chair, 1.0)] == ["go"]


def test_a_level_holds_from_the_next_step_on() -> None:
    chair = Chair(drill_of(TWO, TWO))
    chair.listen(1.0)
    chair.say("trainer under load")
    assert lines(chair, 0.5) == [("answer", "Under load.")]
    chair.tick(1.0)
    chair.say("turn right 333")
    chair.say("kelda outbound")
    chair.listen(1.0)
    chair.tick(5.5)  # within eight seconds, and not within six
    chair.say("turn right 333")
    chair.say("kelda outbound")
    settled = [r.verdict for r in chair.records if isinstance(r, Settled) and r.call == "turn"]
    assert settled == ["correct", "late"]


def test_under_load_others_are_talked_to_and_nothing_of_it_is_graded() -> None:
    chair = Chair(drill_of(TWO, limit_seconds=300), Settings(level="under load", mode="fly through"))
    said = chair.listen(12.0)
    chatter = [line for line in said if line.cue == CHATTER]
    assert chatter
    chair.say("say again")  # the controller's last message to us, not to others
    assert [line.cue for line in chair.listen(0.5) if line.cue != CHATTER] == ["again: step 1"]


@pytest.mark.parametrize("name", builtin_drills())
def test_the_load_follows_from_the_seed_and_never_calls_the_student(name: str) -> None:
    drill = find_drill(name)
    assert load_of(drill, 1) == load_of(drill, 1)
    assert load_of(drill, 1) != load_of(drill, 2)
    for seed in range(20):
        load = load_of(drill, seed)
        moments = [moment for moment, _ in load]
        assert all(14 <= b - a <= 34 for a, b in pairwise(moments))
        texts = [speak.text.lower() for _, speak in load]
        assert sum(speak.speaker == "instructor" for _, speak in load) == 1
        assert not any("heron" in text for text in texts)
        assert not any(character.isdigit() for text in texts for character in text)


# The floor.

URGENT_SECONDS = st.floats(0.5, 30.0).map(lambda s: round(s, 1))


@given(
    st.lists(st.floats(0.3, 12.0).map(lambda s: round(s, 1)), min_size=2, max_size=2),
    st.floats(0.0, 10.0).map(lambda s: round(s, 1)),
    URGENT_SECONDS,
)
def test_an_urgent_cue_extends_the_windows_that_it_covers(
    waits: list[float], urgent_after: float, urgent_seconds: float
) -> None:
    """However long it takes and wherever in the silence it falls: the verdicts are as if it had not been there."""

    def verdicts(seconds: float) -> dict[str, str]:
        scene = Scene(drill_of(TWO)).begin("step 1")
        for wait, text in zip(waits, ("turn right 333", "kelda outbound"), strict=True):
            if seconds and urgent_after < wait:
                scene.wait(urgent_after).cue("urgent", seconds)
                scene.say(text, after=round(wait - urgent_after, 3))
            else:
                scene.say(text, after=wait)
        scene.end()
        return scene.verdicts()

    assert verdicts(urgent_seconds) == verdicts(0.0)


def test_what_an_urgent_cue_cuts_short_is_said_again_behind_it() -> None:
    long = {"step": "slow", "when": "start", "cue": {"speaker": "controller", "say": "slow"}, "flow": TWO}
    alarm = {"speaker": "aeroplane", "say": "terrain", "urgent": True}
    urgent = {"step": "alarm", "when": "start", "after_seconds": 1.0, "cue": alarm}
    head = {"drill": "d", "title": "D", "kind": "radio", "trains": "t"}
    chair = Chair(Drill.model_validate(head | {"steps": [long, urgent]}))
    chair.tick(0.1)
    chair.send(CueStarted(at_seconds=chair.now, cue="slow", speaker="controller", text="..."))
    chair.tick(2.0)
    given_floor = chair.send(CueEnded(at_seconds=chair.now, cue="slow", complete=False))
    assert [c.cue for c in given_floor if isinstance(c, Speak)] == ["alarm"]
    chair.sound("alarm", 10.0)
    assert [c.cue for c in chair.commands if isinstance(c, Speak)][-1] == "again: slow"
    chair.sound("again: slow", 5.0)
    chair.tick(5.0)
    chair.say("turn right 333")
    chair.say("kelda outbound")
    assert of_call(chair, "turn").verdict == "correct"


@given(st.floats(0.0, 3.0).map(lambda s: round(s, 1)), st.floats(1.0, 12.0).map(lambda s: round(s, 1)))
def test_no_cue_that_can_wait_begins_while_the_student_speaks(after: float, seconds: float) -> None:
    drill = drill_of(TWO)
    later = drill.steps[0].model_dump() | {"after_seconds": 2.0}
    chair = Chair(Drill.model_validate(drill.model_dump() | {"steps": [later]}))
    chair.tick(after)
    began = [c for c in chair.commands if isinstance(c, Speak)]
    chair.begin_to_say()
    chair.tick(seconds)
    assert [c for c in chair.commands if isinstance(c, Speak)] == began
