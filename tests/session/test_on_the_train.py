"""A passenger on a train practises hands-free, without a screen: a quiet voice, strangers, a tunnel, a lid that closes.

Over the real recogniser, in virtual time. Each numbered part asserts what one line of the story must lead to. Not
asserted, since it does not exist yet: line 2, 'what is due' by voice; that a failed item comes back within the session
(line 4); and line 8, the audio track.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from tests.session.story_run import Session, tell
from tests.story_student import Line, turn
from voice_trainer.journal.events import (
    AskAgain,
    CorrectionBegan,
    CorrectionEnded,
    CueEnded,
    CueStarted,
    Ended,
    Extra,
    Heard,
    LevelChanged,
    PaceChanged,
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
    turn("Say: fly", softly("trainer, fly engine failure")),
    turn(
        "The engine stops",
        softly("airspeed best glide"),
        softly("best field selected", noise="babble", noise_db=3.0),
        Line(STRANGER, 1.0, voice="gmw/en-gb-x-rp+f2", gain_db=-12.0),
        softly("fuel pump on"),
        softly("mixture rich"),
        softly("ignition both"),
        softly("squawk seven seven zero zero"),
        softly("mayday mayday mayday heron two four"),
        softly("doors unlatched"),
    ),
    turn("Stop.", softly("fuel selector other tank")),
    turn("Say: fly", softly("trainer, fly before landing checklist")),
    turn("Altimeters", softly("two niner eight four"), softly("trainer, slower", 0.3)),
    turn("Fuel selectors", softly("fullest tanks"), softly("trainer, read along", 0.3)),
    turn("Read along", softly("heat on")),
    turn("Read along", Line("", 0.5, sleeps_seconds=300.0)),
    turn("asleep", softly("trainer, continue", 5.0), softly("armed", 1.5)),
    turn("Read along", softly("down three green")),
    turn("Flaps", softly("trainer, stop")),
    turn("Say: fly", softly("end")),
)


@pytest.mark.slow
def test_on_the_train(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    drills = [find_drill(name) for name in ("engine-failure", "before-landing-checklist")]
    told = tell(
        TURNS, drills, tmp_path, settings=Settings(input="mic", listening="headset"), noise_dbfs=-56.0
    )
    heard = told.heard
    items, checklist = Session(told, 0), Session(told, 1)

    # 1: a spoken caution and a short menu; tones for listening, heard, say again; no key is there to be touched.
    assert "For a passenger" in heard[0]
    assert "Never while you drive or fly, nor by a live transmitter." in heard[0]
    assert heard[1].startswith("Say: fly, and the name of a drill.")
    assert {"listening", "heard", "say again"} <= {tone for _, tone in told.room.tones}

    # 3: quiet, in babble, with an announcement in the middle of a call: asked again or nothing, never wrong.
    verdicts = {v.verdict for session in (items, checklist) for v in session.verdicts.values()}
    assert verdicts <= {"correct", "missed", "not reached"}
    (again,) = items.all(AskAgain)
    assert items.verdict("failure", "field") == "correct"
    assert items.accepted("failure", "field")[0].onset_seconds < again.at_seconds
    # Of a stranger's words only when they were and how long stays.
    field, pump = (items.accepted("failure", call)[0].at_seconds for call in ("field", "pump"))
    strangers = [h.hearing for h in items.all(Heard) if field < h.at_seconds < pump]
    assert [(h.clarity, h.text) for h in strangers] == [("not a call", "")]
    assert 2.0 < strangers[0].end_seconds - strangers[0].start_seconds < 6.0
    assert [e.seconds > 2.0 for e in items.all(Extra) if field < e.at_seconds < pump] == [True]
    written = "".join(path.read_text() for path in (tmp_path / "journals").glob("*.jsonl"))
    assert not any(word in written for word in ("river", "garden", "small"))

    # 4: the answer is given, the item said after it: it counts as failed.
    assert [(c.step, c.calls) for c in items.all(CorrectionBegan)] == [("failure", ("fuel",))]
    assert any("Say: fuel selector other tank." in line for line in heard)
    assert [(p.step, p.call) for p in items.all(PutRight)] == [("failure", "fuel")]
    assert [c.by for c in items.all(CorrectionEnded)] == ["student"]
    assert items.verdict("failure", "fuel") == "missed"

    # 5: the pace and the level change from the next item on.
    (slower,) = checklist.all(PaceChanged)
    assert slower.pace == pytest.approx(1 / 1.2, abs=0.01)
    (level,) = checklist.all(LevelChanged)
    assert level.level == "read along"
    read = [c.at_seconds for c in checklist.all(CueStarted) if c.text.startswith("Read along: ")]
    assert read
    assert min(read) > level.at_seconds
    assert not any("fullest tanks" in line for line in heard if line.startswith("Read along"))

    # 6: the lid closes for five minutes: it stands still, and goes on where it was when asked.
    (asleep,) = checklist.all(Paused)
    (going_on,) = checklist.all(Resumed)
    assert asleep.reason == "asleep"
    assert "Nothing went on for 300 seconds" in told.printed
    assert "This computer was asleep. We stand still. Say: trainer, continue." in heard
    assert not checklist.accepted("autofeather", "auto feather")[0].at_seconds < going_on.at_seconds
    assert checklist.verdict("autofeather", "auto feather") == "correct"

    # 7: 'trainer, stop': half a minute of debrief, then the menu; the logbook knows what was practised.
    assert "2 session(s)" in voice_trainer("progress", home=tmp_path).stdout
    assert [e.reason for e in checklist.all(Ended)] == ["by the student"]
    ended = checklist.all(Ended)[0].at_seconds
    told_until = [c.at_seconds for c in checklist.all(CueEnded) if c.at_seconds > ended]
    assert 1.0 < max(told_until) - ended < 35.0
    assert heard[-1] == "Good bye."
