"""A passenger on a train practises what is due, hands-free, without a screen: a quiet voice, strangers, a tunnel, a lid
that closes.

Over the real recogniser, in virtual time. On demand the passenger pauses once inside all that they say, as some do.
Each numbered part asserts what one line of the story must lead to. Not asserted here: line 8, the audio track.
"""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from tests.session.story_run import Session, tell
from tests.story_student import Line, thinking, turn
from tests.typed_student import practised_before
from voice_trainer.drills.excerpt import LEAD_IN, excerpt_of
from voice_trainer.journal.events import (
    AskAgain,
    CorrectionBegan,
    CorrectionEnded,
    CueStarted,
    Ended,
    Extra,
    Heard,
    Paused,
    PutRight,
    Resumed,
    Settings,
)
from voice_trainer.library.builtin import find_drill

STRANGER = "we went to see the garden by the river but it was far too small for them"
QUIET_DB = -14.0


def softly(text: str, after_seconds: float = 1.2, **more: object) -> Line:
    return Line(text, after_seconds, gain_db=QUIET_DB, **more)  # type: ignore[arg-type]


TURNS = (
    turn("Say: fly", softly("what is due")),
    turn("And five new", softly("ten minutes")),
    turn(
        "contact Yarrow Tower",
        softly("yarrow tower one one eight decimal seven"),
        softly("heron two four"),
    ),
    turn(
        "The engine stops",
        softly("airspeed best glide"),
        softly("best field selected", noise="babble", noise_db=3.0),
        Line(STRANGER, 2.7, voice="gmw/en-gb-x-rp+f2", gain_db=-12.0, other=True),
        softly("carburetor heat on", 0.5),
        softly("fuel pump on"),
        softly("mixture rich"),
        softly("ignition both"),
        softly("squawk seven seven zero zero"),
        softly("mayday mayday mayday heron two four"),
        softly("fuel off"),
        softly("ignition off"),
        softly("master switch off"),
        softly("doors unlatched"),
    ),
    turn("Stop.", softly("fuel selector other tank")),
    turn("Wings level", softly("start the clock"), softly("trainer, slower", 0.3)),
    turn(
        "The engine stops",
        softly("airspeed best glide | best field selected"),
        softly("carburetor heat on | fuel selector other tank | fuel pump on"),
        softly("mixture rich | ignition both"),
        softly("squawk seven seven zero zero"),
        softly("mayday mayday mayday heron two four"),
        softly("fuel off | ignition off | master switch off | doors unlatched"),
    ),
    turn("Landing gear", softly("down three green"), softly("trainer, read along", 0.3)),
    turn("Read along: ", Line("", 0.5, sleeps_seconds=300.0)),
    turn("asleep", softly("trainer, continue", 5.0), softly("turn left heading two eight eight", 1.5)),
    turn("Read along: ", softly("set course one five three")),
    turn("You descend on final", softly("trainer, stop")),
    turn("Say: fly", softly("end")),
)

DUE = (
    ("yarrow-descent", "tower"),
    ("engine-failure", "failure"),
    ("kelda-outbound", "wings level"),
    ("before-landing-checklist", "gear"),
    ("kelda-outbound", "one minute"),
)
"""What the student got right some weeks ago, the longest ago first."""


@pytest.mark.slow
@pytest.mark.parametrize(
    "thoughts", [None, *(pytest.param(each, marks=pytest.mark.long) for each in (1, 2, 3))]
)
def test_on_the_train(thoughts: int | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    for number, (drill, step) in enumerate(DUE):
        practised_before(excerpt_of(find_drill(drill), step), days=40 - number)
    drills = [find_drill(name) for name in dict.fromkeys(drill for drill, _ in DUE)]
    turns = TURNS if thoughts is None else thinking(TURNS, thoughts, readily=(STRANGER,))
    told = tell(
        turns, drills, tmp_path, settings=Settings(input="mic", listening="headset"), noise_dbfs=-56.0
    )
    heard = told.heard
    practised = [Session(told, number) for number in range(len(DUE), len(told.journals))]
    steps = [
        (p.journal.header.drill["drill"], p.journal.header.drill["steps"][-1]["step"]) for p in practised
    ]

    # 1: a spoken caution and a short menu; tones for listening, heard, say again; no key is there to be touched.
    assert "For a passenger" in heard[0]
    assert "Never while you drive or fly, nor by a live transmitter." in heard[0]
    kinds = "one radio exchange, one memory item, two flows and one checklist item"
    assert heard[1] == f"Five things are due: {kinds}."
    menu = next(line for line in heard if line.startswith("Say: fly, and the name of a drill."))
    assert {"listening", "heard", "say again"} <= {tone for _, tone in told.room.tones}

    # 2: what is due is named; it comes interleaved, each flow behind its lead-in.
    assert heard[4] == "Yarrow descent; engine failure; kelda outbound; before landing checklist."
    assert "Ten minutes. Ten things." in heard
    _, memory, clock, memory_again, gear, outbound, last = practised
    assert steps[:3] == list(DUE[:3])
    assert steps[3:6] == [DUE[1], *DUE[3:]]
    drawn = [each.journal.header.drill["kind"] for each in practised]
    assert all(one != other for one, other in pairwise(drawn))
    for each in practised:
        (lead_in,) = [c for c in each.all(CueStarted) if c.cue == LEAD_IN]
        assert lead_in.at_seconds < 5.0
    assert any("You are Heron two four, at flight level zero eight zero" in line for line in heard)

    # 3: quiet, in babble, with an announcement in the middle of a call: asked again or nothing, never wrong.
    verdicts = {v.verdict for session in practised for v in session.verdicts.values()}
    assert verdicts <= {"correct", "missed", "not reached"}
    asked = memory.all(AskAgain)
    assert len(asked) == 1 or thoughts is not None
    assert memory.verdict("failure", "field") == "correct"
    field_onset = memory.accepted("failure", "field")[0].onset_seconds
    field = memory.accepted("failure", "field")[0].at_seconds
    assert any(field_onset < each.at_seconds < field for each in asked)
    # Of a stranger's words only when they were and how long stays.
    field, air = (memory.accepted("failure", call)[0].at_seconds for call in ("field", "air"))
    strangers = [h.hearing for h in memory.all(Heard) if field < h.at_seconds < air]
    assert {(h.clarity, h.text) for h in strangers} == {("not a call", "")}
    assert 2.0 < max(h.end_seconds for h in strangers) - min(h.start_seconds for h in strangers) < 6.0
    extras = [e for e in memory.all(Extra) if field < e.at_seconds < air]
    assert {e.said for e in extras} == {""}
    assert len(extras) == len(strangers)
    written = "".join(path.read_text() for path in (tmp_path / "journals").glob("*.jsonl"))
    assert not any(word in written for word in ("river", "garden", "small"))

    # 4: the answer is given, the item said after it: it counts as failed, and comes back after another one.
    assert [(c.step, c.calls) for c in memory.all(CorrectionBegan)] == [("failure", ("fuel",))]
    assert any("Say: fuel selector other tank." in line for line in heard)
    assert [(p.step, p.call) for p in memory.all(PutRight)] == [("failure", "fuel")]
    assert [c.by for c in memory.all(CorrectionEnded)] == ["student"]
    assert memory.verdict("failure", "fuel") == "missed"
    assert {v.verdict for v in memory_again.verdicts.values()} == {"correct"}

    # 5: the pace and the level change from the next item on.
    assert [s.journal.header.settings.pace for s in (clock, memory_again)] == [
        1.0,
        pytest.approx(1 / 1.2, abs=0.01),
    ]
    assert [s.journal.header.settings.level for s in (gear, outbound)] == ["prompted", "read along"]
    assert any(c.text.startswith("Read along: turn left") for c in outbound.all(CueStarted))

    # 6: the lid closes for five minutes: it stands still, and goes on where it was when asked.
    (asleep,) = outbound.all(Paused)
    (going_on,) = outbound.all(Resumed)
    assert asleep.reason == "asleep"
    assert "Nothing went on for 300 seconds" in told.printed
    assert "This computer was asleep. We stand still. Say: trainer, continue." in heard
    assert not outbound.accepted("one minute", "turn")[0].at_seconds < going_on.at_seconds
    assert outbound.verdict("one minute", "turn") == "correct"

    # 7: 'trainer, stop': half a minute of debrief, then the menu; the logbook knows what was practised.
    assert [e.reason for e in last.all(Ended)] == ["by the student"]
    debrief = heard.index("Debrief. Five things practised, four known at once.")
    assert "One came back, one right then." in heard[debrief:]
    words = " ".join(heard[debrief : heard.index(menu, debrief)]).split()
    assert 15 < len(words) < 90  # half a minute at 160 words a minute is 80
    assert heard[-1] == "Good bye."
    data = json.loads(voice_trainer("due", "--json", home=tmp_path).stdout)
    state = {(each["drill"], each["step"]): each for each in (*data["due"], *data["later"])}
    assert set(DUE) <= set(state)
    failed = state["engine-failure", "failure"]
    assert (failed["practised"], failed["failed"]) == (3, 1)
    assert state["yarrow-descent", "tower"]["practised"] == 2
