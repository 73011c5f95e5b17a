"""What a user can get wrong: one clear line each, exit 2, and nothing lost."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.commands import one_line_of_trouble, voice_trainer

GOOD = """\
drill: mine
title: Mine
kind: radio
trains: nothing much
steps:
  - step: one
    when: start
    flow:
      calls:
        - call: turn
          say: "turn left heading {heading: 310}"
"""


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("kind: radio", "kind: [radio"), ":4:7: "),
        (("trains:", "trainz:"), "trainz"),
        (("{heading: 310}", "{heading: 310"), ":11:"),
        (("{heading: 310}", "{heading: 370}"), "370"),
        (("{heading: 310}", "{headin: 310}"), "heading"),
        (('310}"', '310}"\n          window: {within_seconds: 0}'), ":12:"),
        (
            ('310}"', '310}"\n          window: {opens: passage KLD, closes: passage KLD}'),
            "impossible window",
        ),
        (("when: start", "when: noon"), ":7:"),
    ],
    ids=[
        "broken YAML",
        "unknown key",
        "missing bracket",
        "no heading",
        "no type",
        "no window",
        "impossible",
        "when",
    ],
)
def test_a_drill_file_with_a_fault_says_where(change: tuple[str, str], says: str, tmp_path: Path) -> None:
    drill = tmp_path / "mine.yaml"
    drill.write_text(GOOD.replace(*change), encoding="utf-8")
    done = voice_trainer("run", drill, "--input", "typed", home=tmp_path)
    assert done.returncode == 2
    first = done.stderr.splitlines()[0]
    assert first.startswith(f"voice-trainer: {drill}:")
    assert says in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "journals").exists()


def test_no_such_drill_suggests_the_nearest(tmp_path: Path) -> None:
    assert "kelda-outbound" in one_line_of_trouble(voice_trainer("run", "kelda-outbond", home=tmp_path))


@pytest.mark.parametrize("option", [("--input", "ear"), ("--output", "loud"), ("--student-errors", "typos")])
def test_options_that_make_no_sense(option: tuple[str, str], tmp_path: Path) -> None:
    assert option[1] in one_line_of_trouble(voice_trainer("run", "kelda-outbound", *option, home=tmp_path))


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--input", "studnet"), "'studnet' is no choice; did you mean 'student'?"),
        (("--input", "absent.wav"), "absent.wav: no such file: check its name and folder"),
        (("--input", "text.wav"), "text.wav: not a recording that can be read"),
        (("--output", "speker"), "did you mean 'speaker'?"),
        (("--output", "nowhere/out.wav"), "there is no folder"),
        (("--input", "sound.wav", "--output", "sound.wav"), "is the file of --input too"),
        (("--input", "sound.wav", "--record", "./sound.wav"), "--record"),
        (("--record", "sound.wav"), "sound.wav is there already"),
        (("--record", "sound.mp3"), "does not end in .wav; name a file such as session.wav"),
        (("--journal", "text.wav"), "does not end in .jsonl; name a file such as session.jsonl"),
        (("--journal", "old.jsonl"), "old.jsonl is there already"),
        (("--output", "sound.wav"), "sound.wav is there already"),
        (("--engine", "likelyhood"), "did you mean 'likelihood'?"),
        (("--engine", "pocketsphinx:x"), "there is no recogniser 'pocketsphinx:x'"),
        (("--engine", "vosk:nowhere"), "nowhere: no such model; 'voice-trainer models' lists"),
        (("--input", "student", "--student-voice", "gmw/en-xx"), "has no voice 'gmw/en-xx'"),
        (("--input", "student", "--student-voice", "gmw/en-us+nobody"), "has no variant 'nobody'"),
        (("--input", "mic", "--microphone", "the one I do not have"), "no microphone"),
        (("--microphone", "the one I do not have"), "no microphone"),
    ],
)  # fmt: skip
def test_wrong_options_are_found_before_anything_starts(
    options: tuple[str, ...], says: str, tmp_path: Path
) -> None:
    wav(tmp_path / "sound.wav", 1600)
    (tmp_path / "text.wav").write_text("this is no sound")
    (tmp_path / "old.jsonl").write_text("of another session")
    before = (tmp_path / "sound.wav").read_bytes()
    given = [str(tmp_path / each) if "." in each or "nowhere/" in each else each for each in options]
    done = voice_trainer("run", "kelda-outbound", *given, home=tmp_path)
    line = one_line_of_trouble(done).replace(f"{tmp_path}/", "")
    assert says in line
    assert done.stdout == ""
    assert (tmp_path / "sound.wav").read_bytes() == before
    assert not (tmp_path / "journals").exists()


def test_options_that_change_nothing_are_named(tmp_path: Path) -> None:
    done = voice_trainer(
        "run", "kelda-outbound", "--input=typed", "--headset", "--student-errors=none", "--output=speaker",
        home=tmp_path, stdin="+1\n",
    )  # fmt: skip
    assert done.returncode == 0
    for line in (
        "--headset changes nothing here: nothing is listened to.",
        "--student-errors changes nothing here: no synthetic student speaks.",
    ):
        assert line in done.stdout.splitlines()


def test_a_day_is_of_use_to_approaches_alone(tmp_path: Path) -> None:
    day = ("--wind=240/18", "--house-flow=five ts", "--input=typed")
    for drill, idle in (("kelda-outbound", True), ("kelda-vor-15", False)):
        done = voice_trainer("run", drill, *day, home=tmp_path, stdin="+1\n")
        assert done.returncode == 0
        for option in ("--wind", "--house-flow"):
            line = f"{option} changes nothing here: it is of approaches and holds."
            assert (line in done.stdout.splitlines()) == idle
        assert "--profile" not in done.stdout


def wav(path: Path, samples: int, rate: int = 16000, channels: int = 1, subtype: str = "PCM_16") -> Path:
    data = np.zeros((samples, channels), dtype="float32")
    soundfile.write(path, data, rate, subtype=subtype)
    return path


def test_recordings_that_are_none(tmp_path: Path) -> None:
    (tmp_path / "empty.wav").write_bytes(b"")
    (tmp_path / "text.wav").write_text("this is no sound")
    whole = wav(tmp_path / "whole.wav", 16000).read_bytes()
    (tmp_path / "cut.wav").write_bytes(whole[: len(whole) // 2])
    wav(tmp_path / "none.wav", 0)
    for name in ("empty.wav", "text.wav", "cut.wav", "none.wav", "absent.wav"):
        line = one_line_of_trouble(
            voice_trainer("hear", tmp_path / name, "--expect", "gear down", home=tmp_path)
        )
        assert name in line


@pytest.mark.parametrize(
    ("rate", "channels", "subtype"),
    [(8000, 1, "PCM_16"), (48000, 2, "PCM_16"), (44100, 2, "PCM_24"), (16000, 1, "FLOAT")],
)
def test_any_rate_width_and_number_of_channels_is_read(
    rate: int, channels: int, subtype: str, tmp_path: Path
) -> None:
    path = wav(tmp_path / "quiet.wav", rate, rate, channels, subtype)
    done = voice_trainer("hear", path, "--expect", "gear down", "--json", home=tmp_path)
    assert (done.returncode, json.loads(done.stdout)["verdict"]) == (1, "not a call")


def test_a_manifest_line_that_is_none_is_named(tmp_path: Path) -> None:
    manifest = tmp_path / "list.jsonl"
    manifest.write_text('{"file": "a.wav", "expect": "gear down"}\n{"file": 3}\n')
    assert "list.jsonl:2" in one_line_of_trouble(voice_trainer("hear", "--manifest", manifest, home=tmp_path))
    manifest.write_text("no json\n")
    assert "list.jsonl:1" in one_line_of_trouble(voice_trainer("hear", "--manifest", manifest, home=tmp_path))


def test_a_pattern_that_is_none_says_where(tmp_path: Path) -> None:
    line = one_line_of_trouble(
        voice_trainer("hear", "a.wav", "--expect", "turn left {heading: 400}", home=tmp_path)
    )
    assert "--expect" in line
    assert "400" in line


def test_a_journal_that_cannot_be_written(tmp_path: Path) -> None:
    blocker = tmp_path / "file"
    blocker.write_text("")
    done = voice_trainer(
        "run", "kelda-outbound", "--input", "typed", "--journal", blocker / "x.jsonl", home=tmp_path
    )
    assert str(blocker) in one_line_of_trouble(done)


def test_a_journal_that_is_none(tmp_path: Path) -> None:
    path = tmp_path / "j.jsonl"
    path.write_text("hello\n")
    assert "j.jsonl" in one_line_of_trouble(voice_trainer("debrief", path, home=tmp_path))
    path.write_bytes(bytes(range(256)) * 100)
    assert "this is not a journal" in one_line_of_trouble(voice_trainer("debrief", path, home=tmp_path))
    for absent in (tmp_path / "absent.jsonl", tmp_path / "j.jsonl" / "x", tmp_path / ("n" * 300)):
        line = one_line_of_trouble(voice_trainer("debrief", absent, home=tmp_path))
        assert "or leave the name out to read the latest" in line
    assert "no session yet" in one_line_of_trouble(voice_trainer("debrief", home=tmp_path))


def test_a_journal_of_a_drill_that_is_no_longer_understood(tmp_path: Path) -> None:
    path = tmp_path / "j.jsonl"
    run = ("run", "kelda-outbound", "--input", "typed", "--journal", path)
    voice_trainer(*run, home=tmp_path, stdin="+1\n")
    path.write_text(path.read_text().replace('"kind":"procedure"', '"kind":"waltz"'))
    for command in ("debrief", "regrade"):
        line = one_line_of_trouble(voice_trainer(command, path, home=tmp_path))
        assert "its drill is none that this version understands (kind: " in line


def test_a_torn_last_line_is_reported_not_fatal(tmp_path: Path) -> None:
    path = tmp_path / "j.jsonl"
    voice_trainer(
        "run", "kelda-outbound", "--input", "typed", "--journal", path, home=tmp_path, stdin="+60\n"
    )
    content = path.read_bytes()
    path.write_bytes(content[:-25])
    done = voice_trainer("debrief", path, home=tmp_path)
    assert done.returncode == 0
    assert "torn" in done.stdout


def test_a_forced_engine_that_is_not_there(tmp_path: Path) -> None:
    done = voice_trainer("hear", "a.wav", "--expect", "gear down", "--engine", "nonesuch", home=tmp_path)
    assert "nonesuch" in one_line_of_trouble(done)


def test_a_model_folder_that_is_no_model(tmp_path: Path) -> None:
    folder = tmp_path / "no-model"
    folder.mkdir()
    done = voice_trainer(
        "hear", "a.wav", "--expect", "gear down", "--engine", f"vosk:{folder}", home=tmp_path
    )
    assert "no-model" in one_line_of_trouble(done)


def test_the_list(tmp_path: Path) -> None:
    done = voice_trainer("list", home=tmp_path)
    assert done.returncode == 0
    assert "kelda-outbound" in done.stdout
    assert "brannock-clearance" in done.stdout


def test_help_carries_the_caution(tmp_path: Path) -> None:
    for arguments in (("--help",), ("run", "--help")):
        assert "Never use it while operating an aircraft" in " ".join(
            voice_trainer(*arguments, home=tmp_path).stdout.split()
        )
