"""`track`: the file that comes out, what is heard in it, and what becomes of slips."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from tests.pack_sources import EXAMPLE
from tests.tracks.decoding import RATE, chapters, decoded
from tests.tracks.hearing import Sound, cut, verdict_of_answer
from voice_trainer.cli.main import main
from voice_trainer.library.builtin import find_drill

OLDER = b"an older track: Study aid only. Current charts, local procedures and so on"
HOSTILE = """\
drill: hostile
title: "<b>../up \\u05D0\\u05D1 & \\"away\\" \\U0001F6E9 {long}"
kind: radio
trains: nothing
steps:
  - step: vector
    when: start
    cue: {{speaker: controller, say: "Turn left heading {{heading: 284}}."}}
    flow:
      calls:
        - call: heading
          say: "[turn] left heading {{heading: 284}}"
"""


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One data folder for all: a clip that was spoken once is spoken."""
    return tmp_path_factory.mktemp("home")


@dataclass(frozen=True)
class Made:
    path: Path
    printed: str
    segments: list[dict[str, Any]]

    def of(self, kind: str) -> list[dict[str, Any]]:
        return [each for each in self.segments if each["kind"] == kind]


def made(home: Path, name: str, *arguments: str | Path) -> Made:
    path, segments = home / name, home / f"{name}.json"
    done = voice_trainer("track", *arguments, "--out", path, "--segments", segments, home=home)
    assert (done.returncode, done.stderr) == (0, ""), done.stderr
    data = json.loads(segments.read_text())
    assert data["file"] == name
    return Made(path, done.stdout, data["segments"])


def check_sound(track: Made, drill_files: dict[str, str] | None = None) -> None:
    """The caution is in it, its gaps are silent, and the recogniser hears every answer, in the file as it is read."""
    sound = decoded(track.path)
    (caution,) = track.of("caution")
    assert caution["start_seconds"] == 0
    assert (
        "passenger" in caution["text"] and "Never while you drive, and never while you fly" in caution["text"]
    )
    assert level(sound, caution) > 0.01
    for gap in track.of("gap"):
        assert level(sound, gap, edge_seconds=0.1) < 0.0003
    for each in track.of("answer"):
        drill = (drill_files or {}).get(each["drill"], each["drill"])
        times = (each["start_seconds"], each["end_seconds"])
        verdict, heard = verdict_of_answer(sound, *times, drill, each["step"], each["call"])
        assert verdict == "correct", (each, heard)


def level(sound: Sound, segment: dict[str, Any], edge_seconds: float = 0.0) -> float:
    start, end = segment["start_seconds"] + edge_seconds, segment["end_seconds"] - edge_seconds
    part = cut(sound, start, end).astype(float) / 32768
    return float(np.sqrt(np.mean(np.square(part))))


def share_above_a_voice_channel(sound: Sound, segment: dict[str, Any]) -> float:
    """Of the power, beyond 3600 Hz: a radio's channel ends at 3400 (ITU-T G.712)."""
    power = np.abs(np.fft.rfft(cut(sound, segment["start_seconds"], segment["end_seconds"]))) ** 2
    return float(power[np.fft.rfftfreq(2 * len(power) - 2, 1 / RATE) > 3600].sum() / power.sum())


@pytest.mark.slow
def test_a_whole_drill_as_opus_is_heard_and_its_gaps_are_long_enough(home: Path) -> None:
    track = made(home, "reckoning.opus", "reckon-course-reversal", "--pace", "120")
    drill = find_drill("reckon-course-reversal")
    owed = [
        (step.step, call.call)
        for step in drill.steps
        for call in (step.flow.calls if step.flow else ())
        if call.need == "required"
    ]
    assert [(each["step"], each["call"]) for each in track.of("answer")] == owed
    assert [name for _, name in chapters(track.path)] == [
        "Caution",
        *(f"{drill.title}: {each['step']}" for each in track.of("gap")),
    ]
    for gap in track.of("gap"):
        words = sum(len(each["text"].split()) for each in track.of("answer") if each["step"] == gap["step"])
        assert gap["end_seconds"] - gap["start_seconds"] >= 1.0 + words * 60 / 120
    check_sound(track)


@pytest.mark.slow
def test_steps_by_name_as_mp3_are_heard_in_the_order_given(home: Path) -> None:
    items = ("before-landing-checklist/altimeter", "brannock-clearance/clearance")
    track = made(home, "steps.MP3", *items, "--pace", "1.5")
    assert [f"{each['drill']}/{each['step']}" for each in track.of("gap")] == list(items)
    sound = decoded(track.path)
    clearance = [each for each in track.of("lead-in") if each["step"] == "clearance"]
    assert [each["speaker"] for each in clearance] == ["instructor", "controller"]
    instructor, controller = (share_above_a_voice_channel(sound, each) for each in clearance)
    assert controller < 0.001 < instructor
    check_sound(track)


@pytest.mark.slow
def test_a_hostile_title_does_no_harm_as_m4a_and_an_older_track_is_replaced(home: Path) -> None:
    file = home / "hostile.yaml"
    file.write_text(HOSTILE.format(long="x" * 1900))
    (home / "hostile.m4a").write_bytes(OLDER)
    track = made(home, "hostile.m4a", file)
    caution, (_, name) = chapters(track.path)
    assert caution == (0.0, "Caution")
    assert name.startswith('‹b›..-up \u05d0\u05d1 & "away" \U0001f6e9 xxx') and name.endswith("x…: vector")
    assert len(name) < 70
    assert name in track.printed
    check_sound(track, {"hostile": str(file)})
    assert sorted(each.name for each in home.iterdir() if "writing" in each.name) == []


@pytest.mark.slow
def test_what_is_due_comes_as_far_as_it_fits(home: Path) -> None:
    due = json.loads(voice_trainer("due", "--json", "--new", "5", home=home).stdout)
    listed = [(each["drill"], each["step"]) for each in due["new"]]
    track = made(home, "due.ogg", "--due", "--minutes", "1", "--new", "5")
    taken = [(each["drill"], each["step"]) for each in track.of("gap")]
    assert taken and taken == [each for each in listed if each in taken] and len(taken) < len(listed)
    assert track.segments[-1]["end_seconds"] <= 60
    assert f"{len(listed) - len(taken)} more did not fit into 1 minute." in track.printed
    check_sound(track)
    nothing = voice_trainer("track", "--due", "--new", "0", "--out", home / "none.ogg", home=home)
    assert (nothing.returncode, (home / "none.ogg").exists()) == (1, False)
    assert "Nothing is due" in nothing.stdout


@pytest.mark.slow
def test_on_a_full_disk_what_was_there_stays(home: Path, tmp_path: Path) -> None:
    path = tmp_path / "track.wav"
    path.write_bytes(OLDER)
    most = 900_000  # more than any clip takes, less than the track
    done = subprocess.run(
        [sys.executable, "-m", "voice_trainer", "track", "reckon-course-reversal", "--out", path],
        capture_output=True,
        text=True,
        env=os.environ | {"VOICE_TRAINER_HOME": str(home)},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most)),
        check=False,
    )
    assert "make room on the disk" in one_line_of_trouble(done)
    assert path.read_bytes() == OLDER
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["engine-failure", "--out", "a.flac"], "does not end in .opus, .ogg, .mp3, .m4a or .wav"),
        (["engine-failure", "--out", "track"], "'track' does not end in .opus"),
        (["engine-failure", "--out", "no/such/a.mp3"], "there is no folder"),
        (["engine-failure", "--out", "folder.mp3"], "folder.mp3 is a folder; name a file in it"),
        (["engine-failure", "--out", "pipe.mp3"], "pipe.mp3 is no file; name one"),
        (["engine-failure", "--out", "x" * 300 + ".mp3"], "file name too long); give it a shorter name"),
        (["engine-failure", "--out", "a.mp3", "--segments", "a.mp3"], "does not end in .json"),
        (["engine-failur", "--out", "a.mp3"], "did you mean 'engine-failure'?"),
        (["engine-failure/failur", "--out", "a.mp3"], "did you mean 'failure'?"),
        (["engine-failure/", "--out", "a.mp3"], "no step '' of this drill has a flow; use failure"),
        (["./none.yaml/step", "--out", "a.mp3"], "none.yaml"),
        (["no/such/place", "--out", "a.mp3"], "'no/such': there is no such pack"),
        (["--out", "a.mp3"], "or give --due: one of the two"),
        (["engine-failure", "--due", "--out", "a.mp3"], "or give --due: one of the two"),
        (["engine-failure", "--minutes", "5", "--out", "a.mp3"], "--minutes belongs to --due"),
        (["engine-failure", "--pace", "20", "--out", "a.mp3"], "'20' is no pace; give words a minute"),
        (["engine-failure", "--pace", "\u0665", "--out", "a.mp3"], "is no pace"),
        (["engine-failure", "--student-voice", "nobody", "--out", "a.mp3"], "no voice 'nobody'"),
        (["--due", "--minutes", "0", "--out", "a.mp3"], "no whole number from 1 to 120"),
    ],
)
def test_a_slip_is_one_line_and_writes_nothing(
    arguments: list[str],
    says: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path / "home"))
    (tmp_path / "folder.mp3").mkdir()
    os.mkfifo(tmp_path / "pipe.mp3")
    try:
        code: object = main(["track", *arguments])
    except SystemExit as stopped:  # argparse
        code = stopped.code
    printed = capsys.readouterr()
    assert (code, printed.out) == (2, "")
    (line,) = printed.err.splitlines()
    assert says in line
    assert {each.name for each in tmp_path.iterdir()} <= {"folder.mp3", "pipe.mp3", "home"}


def test_a_drill_of_a_pack_is_named_whole_or_with_a_step(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    assert main(["packs", "add", str(EXAMPLE)]) == 0
    for item, says in (
        ("tarlen-school/finch-before-start", "no voice 'nobody'"),  # the last thing that is looked at
        ("tarlen-school/finch-before-start/seats", "no voice 'nobody'"),
        ("tarlen-school/finch-before-start/seat", "did you mean 'seats'?"),
    ):
        assert main(["track", item, "--student-voice", "nobody", "--out", str(tmp_path / "a.mp3")]) == 2
        assert says in capsys.readouterr().err
