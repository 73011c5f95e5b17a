"""What is said while everything stands still, through whole sessions over audio; each is replayed to the byte."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.scenes import drill_of
from tests.session.test_audio_session import cue_times, long_cue, run, spoken, verdict
from voice_trainer.audio.ports import Samples
from voice_trainer.journal.events import (
    Accepted,
    CorrectionBegan,
    CorrectionEnded,
    CueEnded,
    Heard,
    Paused,
    PutRight,
    Resumed,
    Settled,
)
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

STANDING_STILL = "We stand still. Say: trainer, continue."
READBACK = {
    "order": "any",
    "calls": [
        {"call": "turn", "say": "turn right [heading] {heading: 333}"},
        {"call": "down", "say": "descend [and maintain] {altitude: 2600}"},
    ],
}


@pytest.fixture(scope="module")
def sound() -> Samples:
    """Whatever sounds: the scripted recogniser hears its script."""
    return Pyttsx3Voice().render("gear down", VoiceStyle("gmw/en-us"))


@pytest.mark.parametrize("headset", [False, True])
def test_a_call_into_a_freeze_is_told_that_it_does_not_count(
    headset: bool, sound: Samples, tmp_path: Path
) -> None:
    drill = long_cue()
    _, ended = cue_times(run(drill, {}, tmp_path / "first", headset=headset))
    script = ("trainer freeze", "gear down", "gear down", "trainer continue", "gear down")
    moments = [ended + after for after in (1.0, 3.0, 12.0, 15.0, 18.0)]
    records = run(drill, dict.fromkeys(moments, sound), tmp_path / "second", headset=headset, script=script)
    assert spoken(records)[1:] == [STANDING_STILL]
    assert [type(r) for r in records if isinstance(r, Paused | Resumed | Accepted)] == [
        Paused,
        Resumed,
        Accepted,
    ]
    assert verdict(drill, records) == "correct"


def test_talk_into_a_freeze_is_not_answered_and_leaves_no_word(sound: Samples, tmp_path: Path) -> None:
    drill = long_cue()
    _, ended = cue_times(run(drill, {}, tmp_path / "first"))
    script = ("trainer freeze", "the parcel is for my neighbour", "trainer continue", "gear down")
    moments = [ended + after for after in (1.0, 3.0, 9.0, 12.0)]
    records = run(drill, dict.fromkeys(moments, sound), tmp_path / "second", script=script)
    assert len(spoken(records)) == 1
    heard = [r.hearing.text for r in records if isinstance(r, Heard)]
    assert heard == ["trainer freeze", "", "trainer continue", "gear down"]
    assert verdict(drill, records) == "correct"


@pytest.mark.parametrize("headset", [False, True])
def test_another_call_counts_while_one_is_put_right(headset: bool, sound: Samples, tmp_path: Path) -> None:
    drill = drill_of(READBACK)
    wrong = ("turn right 323",)
    _, ended = cue_times(run(drill, {}, tmp_path / "first", headset=headset))
    said = {ended + 1.0: sound}
    begun = run(drill, said, tmp_path / "second", headset=headset, script=(*wrong, "", ""))
    explained = next(
        r.at_seconds for r in begun if isinstance(r, CueEnded) and r.cue.startswith("correction: ")
    )
    said |= {explained + 8.5: sound, explained + 11.0: sound}
    script = (*wrong, "descend 2600", "turn right 333")
    records = run(drill, said, tmp_path / "third", headset=headset, script=script)
    kinds = (CorrectionBegan, Accepted, PutRight, CorrectionEnded)
    assert [type(r) for r in records if isinstance(r, kinds)] == [Accepted, *kinds]
    last = {r.call: r.verdict for r in records if isinstance(r, Settled)}
    assert last == {"turn": "wrong value", "down": "correct"}


def test_say_again_is_answered_in_a_freeze(sound: Samples, tmp_path: Path) -> None:
    drill = long_cue()
    _, ended = cue_times(run(drill, {}, tmp_path / "first"))
    script = ("trainer freeze", "say again", "trainer continue", "gear down")
    moments = [ended + after for after in (1.0, 3.0, 20.0, 23.0)]
    records = run(drill, dict.fromkeys(moments, sound), tmp_path / "second", script=script)
    first, again = spoken(records)
    assert first == again
    assert verdict(drill, records) == "correct"
