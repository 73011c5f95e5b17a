"""A track as a file: opened by others, its chapters where its flows are, its gaps silent."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.tracks.decoding import RATE, chapters, decoded
from voice_trainer.audio.wav import read_wav
from voice_trainer.library.builtin import everything, find_drill
from voice_trainer.outputs.writing import write_whole
from voice_trainer.tracks.assembling import TooLongError, Track, assemble
from voice_trainer.tracks.encoding import FORMATS, encode
from voice_trainer.tracks.pacing import Pace, gap_seconds
from voice_trainer.tracks.script import CAUTION, FlowScript, flow_names, scripts_of
from voice_trainer.voices.casting import Casting, Role
from voice_trainer.voices.ports import Samples
from voice_trainer.voices.scripted import ScriptedVoice


def flows_of(name: str) -> list[FlowScript]:
    drill = find_drill(name)
    return scripts_of([(drill, step) for step in flow_names(drill)])


def spoken(speaker: Role, text: str) -> Samples:
    voice = ScriptedVoice()
    return voice.render(text, Casting.of(voice).style(speaker))


@pytest.fixture(scope="module")
def track() -> Track:
    return assemble(flows_of("brannock-clearance"), spoken, Pace(200))


def test_the_caution_is_first_then_each_flow_is_cue_gap_and_answers(track: Track) -> None:
    assert (track.segments[0].kind, track.segments[0].text) == ("caution", CAUTION)
    assert [each.title for each in track.chapters] == [
        "Caution",
        "Approach clearance and an amended altitude: clearance",
        "Approach clearance and an amended altitude: amendment",
    ]
    for step in ("clearance", "amendment"):
        kinds = [each.kind for each in track.segments if each.step == step and each.kind != "pause"]
        first_answer = kinds.index("answer")
        assert set(kinds[: first_answer - 2]) == {"lead-in"}
        assert kinds[first_answer - 2 : first_answer] == ["tone", "gap"]
        assert set(kinds[first_answer:]) == {"answer"}
    assert {each.speaker for each in track.segments if each.kind == "lead-in"} >= {"controller"}
    ends = [each.end_seconds for each in track.segments]
    assert [each.start_seconds for each in track.segments] == [0.0, *ends[:-1]]
    assert ends[-1] == track.seconds == track.chapters[-1].end_seconds


def test_a_gap_has_room_for_all_answers_of_its_flow(track: Track) -> None:
    for step in ("clearance", "amendment"):
        (gap,) = [each for each in track.segments if each.kind == "gap" and each.step == step]
        answers = [each for each in track.segments if each.kind == "answer" and each.step == step]
        words = sum(len(each.text.split()) for each in answers)
        assert gap.end_seconds - gap.start_seconds >= words / 200 * 60 + gap_seconds([], Pace()) - 0.01


@pytest.mark.parametrize("ending", [".opus", ".mp3", ".m4a", ".wav"])
def test_others_read_the_chapters_and_hear_everything_at_its_time(
    ending: str, track: Track, tmp_path: Path
) -> None:
    path = tmp_path / f"track{ending}"
    content = encode(track, FORMATS[ending], "A title", CAUTION)
    write_whole(path, content)
    assert encode(track, FORMATS[ending], "A title", CAUTION) == content
    sound = decoded(path).astype(float)
    assert len(sound) / RATE == pytest.approx(track.seconds, abs=0.1)
    if ending == ".wav":
        assert np.array_equal(read_wav(path), track.samples)
    else:
        found = chapters(path)
        assert [name for _, name in found] == [each.title for each in track.chapters]
        assert [start for start, _ in found] == pytest.approx(
            [each.start_seconds for each in track.chapters], abs=0.002
        )
    for each in track.segments:
        edge = 0.1 if each.kind in ("gap", "pause") else 0.0  # a codec rings a little
        part = sound[round((each.start_seconds + edge) * RATE) : round((each.end_seconds - edge) * RATE)]
        level = np.sqrt(np.mean(np.square(part))) / 32768
        assert (level < 0.0003) == (each.kind in ("gap", "pause")), (each, level)


def test_of_what_does_not_fit_the_first_flows_are_taken_and_one_at_least() -> None:
    flows = flows_of("brannock-clearance") * 5
    whole = assemble(flows, spoken, Pace(120))
    some = assemble(flows, spoken, Pace(120), most_seconds=whole.seconds / 2)
    assert some.seconds <= whole.seconds / 2 < some.seconds + 60
    assert len(some.chapters) - 1 + some.left_out == len(flows)
    assert [each.title for each in some.chapters] == [each.title for each in whole.chapters][
        : len(some.chapters)
    ]
    one = assemble(flows, spoken, Pace(120), most_seconds=1.0)
    assert (len(one.chapters) - 1, one.left_out) == (1, len(flows) - 1)


def test_what_is_longer_than_a_track_may_be_is_refused() -> None:
    with pytest.raises(TooLongError, match="name fewer"):
        assemble(
            flows_of("brannock-clearance") * 126, lambda speaker, text: spoken(speaker, "word"), Pace(300)
        )


def test_a_memory_drill_says_that_it_is_generic() -> None:
    (first, *_) = flows_of("engine-failure")
    assert first.lead_in[0] == ("instructor", "Generic: use your own aircraft's handbook.")


def test_a_flow_right_behind_the_one_before_it_is_led_into_by_what_is_new() -> None:
    drill = find_drill("before-landing-checklist")
    names = flow_names(drill)
    first, second, *_ = scripts_of([(drill, name) for name in names])
    assert len(first.lead_in) > 1
    cue = drill.step_named(names[1]).cue
    assert cue is not None
    assert second.lead_in == ((cue.speaker, drill.spoken(cue)),)
    alone, again = scripts_of([(drill, names[1]), (drill, names[0])])
    assert len(alone.lead_in) > 1
    assert again == first


@pytest.mark.parametrize("name", sorted(everything()))
def test_every_flow_of_every_drill_has_a_lead_in_and_answers(name: str) -> None:
    for flow in flows_of(name):
        assert flow.lead_in and flow.answers
