"""Families of voices: who is in them, who says what under which condition, and the table of what was heard."""

import itertools
import random
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scripts.benchmarks import families
from scripts.benchmarks.conditions import CONDITIONS
from scripts.benchmarks.corpus import planned as planned_corpus
from scripts.benchmarks.families import Scene, heard_in_training, mixed, planned, render, robots, sentences
from scripts.benchmarks.family_table import table
from scripts.benchmarks.kokoro_voices import KOKORO, NAMES, fault_of
from scripts.benchmarks.lines import FIGURES_ONLY, FOUR_CALLS
from scripts.benchmarks.listeners import Heard
from scripts.benchmarks.natural import Run, report
from scripts.benchmarks.spoken_corpus import Corpus, CorpusError
from scripts.benchmarks.voices import RATE, VOICES
from scripts.train import voices as trained

SEED = 1
PLAN = planned_corpus(SEED, calls=1600)
CORPUS = Corpus(Path(), tuple(PLAN))
SAID = sentences(CORPUS, 60, SEED)
ASKED = ("clean", "engine 10 dB", "babble 10 dB")
SCENES = planned(SAID, KOKORO, ASKED, SEED)


# --- who -------------------------------------------------------------------------------------------------


def test_no_voice_of_kokoro_is_one_that_the_training_or_its_development_set_has():
    assert not set(NAMES) & {*trained.KOKORO_TRAINING, *trained.KOKORO_DEVELOPMENT}
    assert set(NAMES) == set(trained.KOKORO_TEST)
    assert len(set(NAMES)) == 13


def test_the_spoken_corpus_itself_has_no_voice_of_kokoro():
    every = {*VOICES["tuning"], *VOICES["test"], *(each.voice for each in PLAN)}
    assert not [voice for voice in every if "kokoro" in voice]


@pytest.mark.parametrize(
    ("voice", "heard"),
    [
        ("flite:rms", True),
        ("flite:kal16", False),
        ("espeak:gmw/en-GB-scotland", True),
        ("espeak:gmw/en-US+m3", False),
        ("espeak:gmw/en-029+Michael", False),
        ("espeak:gmw/en-029+Alicia", True),
        ("espeak:gmw/en-GB-x-rp+paul", True),
        ("kokoro:af_kore", True),
        ("kokoro:af_bella", False),
    ],
)
def test_which_voices_the_training_heard(voice: str, heard: bool):
    assert heard_in_training(voice) == heard


def test_robots_are_those_of_the_test_half_that_no_training_heard():
    assert set(families.robots_left_out()) == {"flite:rms", "espeak:gmw/en-GB-scotland"}
    assert set(robots()) < set(VOICES["test"]) - set(families.robots_left_out())
    assert len(robots()) >= 8


def test_what_a_folder_of_sources_lacks_is_named(tmp_path: Path):
    files = (
        "kokoro-int8.onnx",
        "vocab.json",
        *(f"voices/{name}.bin" for name in NAMES),
        "hibari/__init__.py",
    )
    for name in files:
        assert f"{tmp_path / name} is no file: scripts/train/README.md" in fault_of(tmp_path)
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).touch()
    assert fault_of(tmp_path) == ""


# --- what ------------------------------------------------------------------------------------------------


def test_sentences_are_of_the_test_half_and_of_every_kind():
    assert {each.half for each in SAID} == {"test"}
    assert len(set(SAID)) == len(SAID)
    assert not [each for each in SAID if each.recording or each.drill.startswith(FIGURES_ONLY)]
    known = set(PLAN)
    assert set(SAID) < known
    kinds = Counter(each.kind for each in SAID)
    assert kinds == {"right": 27, "twin": 18, "unrelated": 8, FOUR_CALLS: 7, "non-speech": 15}
    assert Counter(each.kind for each in sentences(CORPUS, 1, SEED))["unrelated"] > families.TALKING


def test_the_same_seed_says_the_same():
    assert sentences(CORPUS, 60, SEED) == SAID != sentences(CORPUS, 60, SEED + 1)
    assert planned(SAID, KOKORO, ASKED, SEED) == SCENES != planned(SAID, KOKORO, ASKED, SEED + 1)


def test_each_sentence_is_one_clip_under_every_condition_and_voices_take_turns():
    spoken = [scene for scene in SCENES if scene.clip]
    for _, group in itertools.groupby(spoken, lambda scene: scene.utterance.said):
        scenes = list(group)
        assert [scene.utterance.condition for scene in scenes] == list(ASKED)
        assert len({scene.clip for scene in scenes}) == 1
        assert {scene.utterance.voice for scene in scenes} == {scenes[0].clip.voice if scenes[0].clip else ""}
    assert {scene.clip.voice for scene in spoken if scene.clip} == set(KOKORO)
    for kind in families.BEGINS:
        turns = Counter(scene.clip.voice for scene in spoken if scene.clip and scene.utterance.kind == kind)
        assert max(turns.values()) - min(turns[voice] for voice in KOKORO) <= len(ASKED)
    assert len({scene.utterance.file for scene in SCENES}) == len(SCENES)


def test_more_sentences_leave_the_clips_of_fewer_as_they_are():
    fewer = planned(sentences(CORPUS, 30, SEED), KOKORO, ASKED, SEED)
    assert {scene.clip for scene in fewer} < {scene.clip for scene in SCENES}


def test_babble_is_four_others_of_the_family_who_say_no_call():
    unrelated = {each.spoken for each in SAID if each.kind == "unrelated"}
    for scene in SCENES:
        if scene.clip:
            assert len(set(scene.others)) == families.TALKING
            assert {other.spoken for other in scene.others} <= unrelated
            assert scene.clip.voice not in {other.voice for other in scene.others}


def test_noise_that_nobody_says_is_the_same_for_every_family():
    def noises(scenes: list[Scene]) -> dict[str, str]:
        return {
            each.utterance.file: each.utterance.condition
            for each in scenes
            if each.clip is None and each.utterance.phrase != "babble"
        }

    mine = noises(SCENES)
    assert len(mine) >= 12 and set(mine.values()) == {""}
    assert mine == noises(planned(SAID, robots(), CONDITIONS, SEED))


def test_people_talk_at_once_each_equally_loud():
    loud, soft = (np.sin(np.arange(RATE) * 2 * np.pi * hertz / RATE) for hertz in (440, 1000))
    babble = mixed([loud * 0.5, soft * 0.001], random.Random(1))
    assert len(babble) == families.BABBLE_SECONDS * RATE
    spectrum = np.abs(np.fft.rfft(babble))
    peaks = [spectrum[hertz * families.BABBLE_SECONDS] for hertz in (440, 1000)]
    assert peaks[0] == pytest.approx(peaks[1], rel=0.01)
    assert np.sum(spectrum**2) == pytest.approx(sum(peak**2 for peak in peaks), rel=0.01)


def test_clips_are_spoken_once_and_sounds_made_of_them(tmp_path: Path):
    said = [replace(each) for each in sentences(CORPUS, 8, SEED) if len(each.said.split()) < 12]
    scenes = planned(said, robots(), ("clean", "babble 10 dB"), SEED)
    heard = render(scenes, tmp_path, Path("no sources"))
    assert [each.file for each in heard] == [scene.utterance.file for scene in scenes]
    for each in heard:
        samples = each.samples()
        assert len(samples) > RATE / 2 and np.abs(samples).max() > 100
    files = {file: file.stat().st_mtime_ns for file in tmp_path.rglob("*.flac")}
    assert len([file for file in files if file.parent.name == "spoken"]) == sum(
        each.kind != "non-speech" for each in said
    )
    gone = tmp_path / heard[0].file
    before = heard[0].samples()
    gone.unlink()
    again = render(planned(said, robots(), ("clean", "babble 10 dB"), SEED), tmp_path, Path("no sources"))
    assert np.array_equal(again[0].samples(), before)
    changed = {file for file, at in files.items() if file.stat().st_mtime_ns != at}
    assert changed == {gone}


def test_sources_that_are_none_are_one_line_and_cost_no_clip(tmp_path: Path):
    sources = tmp_path / "sources"
    for name in ("kokoro-int8.onnx", "vocab.json", *(f"voices/{name}.bin" for name in NAMES)):
        (sources / name).parent.mkdir(parents=True, exist_ok=True)
        (sources / name).write_text("nothing of the kind")
    with pytest.raises(CorpusError, match=rf"{sources}: Kokoro can't be loaded \(.*\); get its files again"):
        render(SCENES[:3], tmp_path / "kept", sources)
    assert not list(tmp_path.rglob("*.flac"))


# --- the table -------------------------------------------------------------------------------------------


def _record(
    voice: str, kind: str, outcome: str, condition: str = "clean", **more: object
) -> dict[str, object]:
    said = "" if kind == "non-speech" else f"{voice} {kind} {more.pop('at', 0)}"
    return {"voice": voice, "kind": kind, "outcome": outcome, "condition": condition, "said": said,
            "file": f"{voice}{kind}{condition}", **more}  # fmt: skip


def test_each_column_counts_its_own_and_noise_is_in_the_row_of_all():
    records = [
        _record("a", "right", "accepted"),
        _record("b", "right", "called wrong"),
        _record("b", "right", "unclear", "radio band"),
        _record("a", "twin", "accepted"),
        _record("b", "twin", "called wrong"),
        _record("b", "unrelated", "nothing"),
        _record("none:hiss", "non-speech", "accepted", ""),
        _record("a", FOUR_CALLS, "called wrong", calls_right=3),
    ]
    lines = table({"kokoro": records, "robots": []}, ["clean", "radio band"], 0).splitlines()
    rows = {tuple(line.strip("| ").split(" | ")[:2]): line.strip("| ").split(" | ")[2:] for line in lines}
    shares = {name: [cell.split()[-1] for cell in cells] for name, cells in rows.items()}
    assert shares["kokoro", "all"] == ["1/3", "1/2", "1/3", "1/2", "3/4"]
    assert shares["kokoro", "clean"] == ["1/2", "1/2", "1/2", "0/1", "3/4"]
    assert shares["kokoro", "radio band"] == ["0/1", "none", "0/1", "none", "none"]
    assert shares["robots", "all"] == ["none"] * 5
    assert rows["kokoro", "clean"][0] == "50.0 % [0.0-100.0] 1/2"


def test_a_report_says_which_voices_the_training_heard_and_which_texts_it_may_know():
    voices = {"kokoro": KOKORO, "robots": robots()}
    records = [_record(KOKORO[0], "right", "accepted")]
    heard = {
        "likelihood": {"kokoro": Heard("likelihood", records, 1.0), "robots": Heard("likelihood", [], 1.0)}
    }
    told = report(Run(SAID, voices, ["clean"], 3, heard))
    assert "Left out, since the training heard them: espeak:gmw/en-GB-scotland, flite:rms." in told
    assert "13 voices that the training never heard" in told
    assert "| kokoro | clean | 100.0 % [0.0-100.0] 1/1 |" in told
    assert "were not kept out" not in told
    assert "The texts of seed 4 were not kept out of the training" in report(Run(SAID, voices, [], 4, heard))
