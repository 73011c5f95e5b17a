"""The answers of all built-in drills, spoken, encoded, read back and held before the recogniser: minutes long."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tests.tracks.decoding import decoded
from tests.tracks.hearing import verdict_of_answer
from voice_trainer.audio.effects import radio
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.session.booth import Booth
from voice_trainer.tracks.assembling import assemble
from voice_trainer.tracks.encoding import FORMATS, encode
from voice_trainer.tracks.pacing import Pace
from voice_trainer.tracks.script import CAUTION, flow_names, scripts_of
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.radio_voice import RadioVoice

SURE = 0.95
"""Of the right calls: what the recogniser is to hear as correct, at least. The README has what it was."""


@pytest.mark.long
def test_of_all_right_calls_most_are_heard_as_correct_and_none_as_wrong(tmp_path: Path) -> None:
    engine = Pyttsx3Voice()
    booth = Booth(RadioVoice(engine, radio), Casting.of(engine))
    verdicts: Counter[str] = Counter()
    path = tmp_path / "track.opus"
    for name in builtin_drills():
        drill = find_drill(name)
        flows = scripts_of([(drill, step) for step in flow_names(drill)])
        booth.prepare(line for flow in flows for line in flow.lines)
        track = assemble(flows, lambda speaker, text: booth.clip(speaker, text).result(), Pace())
        path.write_bytes(encode(track, FORMATS[".opus"], drill.title, CAUTION))
        sound = decoded(path)
        for each in (each for each in track.segments if each.kind == "answer"):
            verdict, heard = verdict_of_answer(
                sound, each.start_seconds, each.end_seconds, name, each.step, each.call
            )
            verdicts[verdict] += 1
            if verdict != "correct":
                print(f"{name}/{each.step}, {each.call}: {verdict}: {each.text} | {heard}")
    booth.close()
    print(dict(verdicts))
    assert set(verdicts) <= {"correct", "unclear"}
    assert verdicts["correct"] >= SURE * verdicts.total()
