"""`hear`: what is heard never depends on what is expected; manifests; the line of JSON."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.audio.wav import write_wav
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

ENGINES = ("likelihood", "pocketsphinx")
SPOKEN = {
    "heading": ("turn left heading two eight four", "turn left heading {heading: 284}"),
    "altitude": ("descend and maintain two thousand six hundred", "descend [and maintain] {altitude: 2600}"),
    "frequency": ("contact approach one two four point three five", "contact approach {frequency: 124.35}"),
    "other": ("I would like a cup of tea and some biscuits please", "gear down"),
}
WRONG = {
    "heading": "turn right heading {heading: 248}",
    "altitude": "climb [and maintain] {altitude: 6200}",
    "frequency": "contact tower {frequency: 125.35}",
    "other": "gear up",
}


@pytest.fixture(scope="module")
def recordings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    voice, folder = Pyttsx3Voice(), tmp_path_factory.mktemp("recordings")
    paths = {}
    for name, (text, _) in SPOKEN.items():
        paths[name] = folder / f"{name}.wav"
        write_wav(paths[name], voice.render(text, VoiceStyle("gmw/en-us")))
    return paths


def results(
    recordings: dict[str, Path], expected: dict[str, str], engine: str, home: Path
) -> dict[str, dict[str, Any]]:
    manifest = home / "list.jsonl"
    lines = [{"file": str(recordings[name]), "expect": pattern} for name, pattern in expected.items()]
    manifest.write_text("".join(json.dumps(line) + "\n" for line in lines))
    done = voice_trainer("hear", "--manifest", manifest, "--json", "--engine", engine, home=home)
    assert done.returncode == 1, done.stderr  # 'other' is no call
    found = [json.loads(line) for line in done.stdout.splitlines()]
    assert [entry["file"] for entry in found] == [line["file"] for line in lines]
    return dict(zip(expected, found, strict=True))


@pytest.mark.slow
@pytest.mark.parametrize("engine", ENGINES)
def test_what_is_heard_does_not_depend_on_the_expected_value(
    engine: str, recordings: dict[str, Path], tmp_path: Path
) -> None:
    right = results(recordings, {name: pattern for name, (_, pattern) in SPOKEN.items()}, engine, tmp_path)
    wrong = results(recordings, WRONG, engine, tmp_path)
    for name in SPOKEN:
        for field in ("heard", "slots", "words", "margin", "gap"):
            assert right[name][field] == wrong[name][field], (name, field)
    for name in ("heading", "altitude", "frequency"):
        assert right[name]["verdict"] != "wrong value", right[name]
        assert wrong[name]["verdict"] != "correct", wrong[name]
    assert right["other"]["verdict"] in ("not a call", "unclear")
    if engine == ENGINES[0]:
        assert [right[name]["verdict"] for name in ("heading", "altitude")] == ["correct", "correct"]
        assert [wrong[name]["verdict"] for name in ("heading", "altitude")] == ["wrong value", "wrong value"]


def test_a_result_has_every_field_and_words_have_times(recordings: dict[str, Path], tmp_path: Path) -> None:
    done = voice_trainer(
        "hear", recordings["heading"], "--expect", SPOKEN["heading"][1], "--json", home=tmp_path
    )
    assert done.returncode == 0, done.stdout + done.stderr
    result = json.loads(done.stdout)
    assert set(result) == {"file", "heard", "verdict", "slots", "words", "margin", "gap", "seconds"}
    assert result["slots"] == {"left/right": "left", "heading": "284"}
    assert result["heard"] == " ".join(word["text"] for word in result["words"])
    times = [word["start_seconds"] for word in result["words"]]
    assert times == sorted(times)
    assert all(word["end_seconds"] >= word["start_seconds"] for word in result["words"])


def test_with_a_drill_its_calls_are_heard_too(recordings: dict[str, Path], tmp_path: Path) -> None:
    done = voice_trainer(
        "hear", recordings["altitude"], "--expect", "start [the] clock", "--drill", "kelda-outbound", "--json",
        home=tmp_path,
    )  # fmt: skip
    result = json.loads(done.stdout)
    assert (done.returncode, result["verdict"]) == (1, "extra")
    assert result["slots"]["altitude"] == "2600"


def test_hear_needs_to_know_what_to_hear(tmp_path: Path) -> None:
    done = voice_trainer("hear", home=tmp_path)
    assert done.returncode == 2
    assert "--expect" in done.stderr
