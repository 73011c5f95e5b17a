"""What sound is left of a session: what its user chose, no more, also where it was cut off."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.scenes import Scene, drill_of
from voice_trainer.archive.journal_file import JournalWriter
from voice_trainer.archive.session_files import sound_folder, spool_of, utterance_sound, whole_sound
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.audio.wav import read_wav
from voice_trainer.journal.events import Disputed, Header, Heard
from voice_trainer.journal.keep import KEEPS, Keep, lesser
from voice_trainer.journal.utterances import Utterance
from voice_trainer.phraseology.counting import counted
from voice_trainer.session.kept_sound import Spool, prune, prune_leftovers, sound_of

DRILL = drill_of(
    {
        "calls": [
            {"call": "gear", "say": "gear down"},
            {"call": "turn", "say": "turn right [heading] {heading: 333}"},
            {"call": "course", "say": "set course {course: 333}"},
        ]
    }
)
SECONDS = 90
SAID = ("gear", "self-talk", "unclear turn", "turn", "course")
KEPT: dict[Keep, tuple[str, ...]] = {
    "none": (),
    "disputed": ("unclear turn", "course"),
    "calls": ("gear", "unclear turn", "turn", "course"),
    "all": SAID,
}


def ramp() -> Samples:
    """Every 16th of a second sounds like no other: a part of it shows where it was."""
    return (np.arange(SECONDS * SAMPLE_RATE_HZ) // 1000).astype(np.int16)


@pytest.fixture
def scene() -> Scene:
    scene = Scene(DRILL).begin("step 1").say("gear down").say("grandmother telephoned")
    scene.say("turn right heading 333", clarity="unclear").say("turn right heading 333").say("set course 153")
    scene.send(Disputed(at_seconds=scene.now, step="step 1", call="course"))
    scene.end("by the student")
    return scene


def written(scene: Scene, folder: Path, keep: Keep, spooled: Samples | None = None) -> Path:
    """A session's journal, and beside it what was spooled of its sound."""
    path = folder / "20261125T101500Z-scene-ab12.jsonl"
    header = Header(
        program="test",
        session=path.stem,
        started_utc="now",
        drill=DRILL.model_dump(mode="json"),
        settings=scene.settings,
        keeps_sound=keep,
    )
    with JournalWriter(path, header) as journal:
        for record in scene.records:
            journal.append(record)
        spool = Spool(path, pytest.fail)
        sound = ramp() if spooled is None else spooled
        for block in np.array_split(sound, SECONDS):
            spool.append(block)
        spool.close()
    return path


def heard(scene: Scene) -> dict[str, Utterance]:
    hearings = [fact.hearing for fact in scene.facts if isinstance(fact, Heard)]
    return {what: Utterance(h.start_seconds, h.end_seconds) for what, h in zip(SAID, hearings, strict=True)}


@pytest.mark.parametrize("keep", KEEPS)
def test_what_was_chosen_is_left_and_nothing_else(keep: Keep, scene: Scene, tmp_path: Path) -> None:
    path = written(scene, tmp_path, keep)
    assert prune(path, keep) == len(KEPT[keep])
    assert not spool_of(path).exists()
    assert sound_folder(path).exists() == (keep != "none")
    for what, utterance in heard(scene).items():
        sound = sound_of(path, utterance)
        assert (sound is not None) == (what in KEPT[keep])
        if sound is not None:
            first = round(utterance.start_seconds * SAMPLE_RATE_HZ)
            assert np.array_equal(sound, ramp()[first : first + len(sound)])
            assert len(sound) == round(utterance.end_seconds * SAMPLE_RATE_HZ) - first


def test_only_its_owner_may_read_it(scene: Scene, tmp_path: Path) -> None:
    path = written(scene, tmp_path, "calls")
    assert spool_of(path).stat().st_mode & 0o777 == 0o600
    prune(path, "calls")
    assert sound_folder(path).stat().st_mode & 0o777 == 0o700
    assert {file.stat().st_mode & 0o777 for file in sound_folder(path).iterdir()} == {0o600}


def test_what_a_missed_call_may_have_been_is_kept_when_it_is_disputed(tmp_path: Path) -> None:
    scene = Scene(DRILL).begin("step 1").say("grandmother telephoned").say("turn right heading 333")
    scene.wait(60).tick()
    scene.send(Disputed(at_seconds=scene.now, step="step 1", call="gear"))
    scene.say("and then yesterday")
    scene.end("by the student")
    path = written(scene, tmp_path, "disputed")
    first, _, _ = [fact.hearing for fact in scene.facts if isinstance(fact, Heard)]
    assert prune(path, "disputed") == 1
    assert [file.name for file in sound_folder(path).iterdir()] == [
        utterance_sound(path, first.start_seconds).name
    ]


@pytest.mark.parametrize("then", KEEPS)
@pytest.mark.parametrize("now", KEEPS)
def test_a_leftover_is_pruned_by_the_lesser_of_both_choices(
    then: Keep, now: Keep, scene: Scene, tmp_path: Path
) -> None:
    path = written(scene, tmp_path, then, ramp()[: SECONDS * 1600])
    (line,) = prune_leftovers(tmp_path, now)
    assert counted(len(KEPT[lesser(then, now)]), "utterance") in line
    assert not spool_of(path).exists()
    assert whole_sound(path).exists() == (then == now == "all")
    assert prune_leftovers(tmp_path, now) == []


def test_a_session_that_runs_keeps_its_spool(tmp_path: Path, scene: Scene) -> None:
    path = written(scene, tmp_path, "all")
    running = path.with_name("20261125T101501Z-scene-ab13.jsonl")
    header = Header(program="test", session="s", started_utc="now", drill={}, settings=scene.settings)
    with JournalWriter(running, header):
        spool = Spool(running, pytest.fail)
        spool.append(ramp()[:1600])
        assert len(prune_leftovers(tmp_path, "none")) == 1
        assert spool_of(running).exists()
        spool.close()
    assert len(prune_leftovers(tmp_path, "none")) == 1
    assert not spool_of(running).exists()


@pytest.mark.parametrize("damage", ["no journal", "torn sound", "no sound", "not a journal"])
def test_what_can_not_be_pruned_does_not_stay(damage: str, scene: Scene, tmp_path: Path) -> None:
    path = written(scene, tmp_path, "calls")
    match damage:
        case "no journal":
            path.unlink()
        case "torn sound":
            spool_of(path).write_bytes(b"RIFF")
        case "no sound":
            spool_of(path).write_bytes(b"")
        case _:
            path.write_text("{}\n")
    assert len(prune_leftovers(tmp_path, "calls")) == 1
    assert not spool_of(path).exists()


def test_where_no_sound_can_be_written_the_session_goes_on(tmp_path: Path) -> None:
    told: list[str] = []
    spool = Spool(tmp_path / "nowhere" / "s.jsonl", told.append)
    spool.append(ramp()[:512])
    spool.append(ramp()[:512])
    assert len(told) == 1
    assert "no sound is kept" in told[0]


def test_a_whole_session_can_be_read_as_a_recording(scene: Scene, tmp_path: Path) -> None:
    path = written(scene, tmp_path, "all")
    prune(path, "all")
    assert np.array_equal(read_wav(whole_sound(path)), ramp())
