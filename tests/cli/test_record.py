"""`record`: from a recording of synthetic speech to a folder with a manifest, in several goes."""

from __future__ import annotations

import hashlib
import json
import re
import stat
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.audio.ports import Samples
from voice_trainer.audio.wav import read_wav, write_wav
from voice_trainer.library.prompts import prompts_from
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

PROMPTS = ("turn left heading two eight four", "gear down", "squawk four one seven zero")


def spoken(texts: tuple[str, ...]) -> Samples:
    """The texts as one voice reads them, two seconds apart."""
    voice, style = Pyttsx3Voice(), VoiceStyle("gmw/en-us")
    gap = np.zeros(32_000, np.int16)
    return np.concatenate([part for text in texts for part in (gap, voice.render(text, style) // 2)])


@pytest.fixture
def prompts(tmp_path: Path) -> Path:
    path = tmp_path / "prompts.txt"
    path.write_text("# three calls\n" + "".join(f"{text}\n" for text in PROMPTS))
    return path


def lines(folder: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (folder / "manifest.jsonl").read_text().splitlines()]


def test_what_was_begun_goes_on_where_it_was_left(prompts: Path, tmp_path: Path) -> None:
    folder = tmp_path / "corpus"
    write_wav(tmp_path / "one.wav", spoken(PROMPTS[:1]))
    write_wav(tmp_path / "rest.wav", spoken(PROMPTS[1:]))
    arguments = ("record", prompts, "--out", folder, "--speaker", "S 1", "--condition", "synthetic")
    first = voice_trainer(*arguments, "--input", tmp_path / "one.wav", home=tmp_path)
    assert "is over at prompt 2 of 3" in one_line_of_trouble(first)
    assert "Nothing leaves this machine" in first.stdout.splitlines()[0]
    assert "1 recorded; 2 to go" in first.stdout
    assert [line["said"] for line in lines(folder)] == [PROMPTS[0]]

    then = voice_trainer(*arguments, "--input", tmp_path / "rest.wav", home=tmp_path)
    assert (then.returncode, then.stderr) == (0, "")
    assert "1 of 3 are there already" in then.stdout
    assert "rest.wav is listened to from its beginning" in then.stdout
    assert "[2/3] gear down" in then.stdout
    assert f"[1/3] {PROMPTS[0]}" not in then.stdout
    found = lines(folder)
    assert [line["said"] for line in found] == list(PROMPTS)
    sources = [hashlib.sha256((tmp_path / name).read_bytes()).hexdigest() for name in ("one.wav", "rest.wav")]
    for line, source in zip(found, (sources[0], sources[1], sources[1]), strict=True):
        assert line == {
            "file": line["file"], "said": line["said"], "speaker": "S 1", "condition": "synthetic",
            "expect": line["said"], "source": source, "source_end_seconds": line["source_end_seconds"],
        }  # fmt: skip
        path = folder / line["file"]
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        alone = spoken((line["said"],))[32_000:]
        # The utterance, and no more than the quiet that is kept before and after it.
        assert len(alone) - 4000 <= len(read_wav(path)) <= len(alone) + 10_000

    nothing = voice_trainer(*arguments, "--input", tmp_path / "absent.wav", home=tmp_path)
    assert (nothing.returncode, nothing.stderr) == (0, "")
    assert lines(folder) == found


def test_a_recording_goes_on_behind_the_last_prompt_that_was_cut_from_it(
    prompts: Path, tmp_path: Path
) -> None:
    """What a full disk leaves: the last line is half written. Its prompt, and no other, is cut out again."""
    folder = tmp_path / "corpus"
    write_wav(tmp_path / "all.wav", spoken(PROMPTS))
    arguments = ("record", prompts, "--out", folder, "--input", tmp_path / "all.wav")
    assert voice_trainer(*arguments, home=tmp_path).returncode == 0
    whole = lines(folder)
    manifest = folder / "manifest.jsonl"
    manifest.write_bytes(manifest.read_bytes()[:-30])
    then = voice_trainer(*arguments, home=tmp_path)
    assert (then.returncode, then.stderr) == (0, "")
    assert f"from second {whole[1]['source_end_seconds']:.1f} on, where the last one ended" in then.stdout
    assert "[3/3] squawk" in then.stdout
    again = lines(folder)
    assert [line["said"] for line in again] == list(PROMPTS)
    assert again[2]["source_end_seconds"] == pytest.approx(whole[2]["source_end_seconds"], abs=0.1)
    first, second = (len(read_wav(folder / each[2]["file"])) for each in (whole, again))
    assert second == pytest.approx(first, abs=3200)
    # Whoever reads the same recording as somebody else begins at its beginning.
    assert voice_trainer(*arguments, "--speaker", "other", home=tmp_path).returncode == 0
    assert [line["source_end_seconds"] for line in lines(folder)][3:] == pytest.approx(
        [line["source_end_seconds"] for line in whole], abs=0.1
    )


def test_what_can_not_be_the_prompt_by_its_length_stops_a_recording(tmp_path: Path) -> None:
    """Half of a sentence, then the other: what follows would be labelled wrongly, so nothing is."""
    (tmp_path / "prompts.txt").write_text(f"{' '.join(PROMPTS)}\ngear up\n")
    write_wav(tmp_path / "two.wav", spoken(("gear down", "gear up")))
    arguments = ("record", tmp_path / "prompts.txt", "--out", tmp_path / "corpus")
    done = voice_trainer(*arguments, "--input", tmp_path / "two.wav", home=tmp_path)
    line = one_line_of_trouble(done)
    assert re.search(
        r"two\.wav: at second 2\.\d, for 'turn left .*': 0\.\d s of speech for 13 words: too short", line
    )
    assert not (tmp_path / "corpus" / "manifest.jsonl").exists()


@pytest.mark.slow
def test_with_a_check_it_is_said_and_written_what_was_heard_instead(tmp_path: Path) -> None:
    (tmp_path / "prompts.txt").write_text("turn left heading {heading: 284}\ngear down\n")
    write_wav(tmp_path / "all.wav", spoken(("turn right heading two four eight", "gear down")))
    done = voice_trainer(
        "record", tmp_path / "prompts.txt", "--out", tmp_path / "corpus", "--check", "--input",
        tmp_path / "all.wav", home=tmp_path,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert (
        "heard 'turn right heading two four eight', which is not the prompt; kept as it was said"
        in done.stdout
    )
    assert "1 prompt was heard as something else to the last" in done.stdout
    assert [line.get("heard") for line in lines(tmp_path / "corpus")] == [
        "'turn right heading two four eight'", None
    ]  # fmt: skip


@pytest.mark.slow
def test_hear_reads_what_record_writes(tmp_path: Path) -> None:
    folder = tmp_path / "corpus"
    said = tuple(prompt.said for prompt in prompts_from("brannock-clearance", 3))
    write_wav(tmp_path / "all.wav", spoken(said))
    recorded = voice_trainer(
        "record", "brannock-clearance", "--seed=3", "--out", folder, "--input", tmp_path / "all.wav",
        home=tmp_path,
    )  # fmt: skip
    assert (recorded.returncode, recorded.stderr) == (0, "")
    heard = voice_trainer("hear", "--manifest", folder / "manifest.jsonl", "--json", home=tmp_path)
    assert heard.stderr == ""
    results = [json.loads(line) for line in heard.stdout.splitlines()]
    assert [result["file"] for result in results] == [line["file"] for line in lines(folder)]
    verdicts = [result["verdict"] for result in results]
    assert verdicts.count("correct") >= 4, results
    assert "extra" not in verdicts, results


@pytest.mark.slow
def test_a_drills_calls_are_heard_as_what_they_were_to_be(tmp_path: Path) -> None:
    folder = tmp_path / "corpus"
    said = tuple(prompt.said for prompt in prompts_from("brannock-clearance", 3))
    write_wav(tmp_path / "all.wav", spoken(said))
    done = voice_trainer(
        "record", "brannock-clearance", "--seed=3", "--out", folder, "--input", tmp_path / "all.wav",
        home=tmp_path,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert [(line["said"], line["drill"]) for line in lines(folder)] == [
        (text, "brannock-clearance") for text in said
    ]
    first = folder / lines(folder)[0]["file"]
    heard = voice_trainer(
        "hear", first, "--expect", "turn left heading {heading}", "--json", "--drill", "brannock-clearance",
        home=tmp_path,
    )  # fmt: skip
    assert json.loads(heard.stdout)["slots"]["left/right"] == "left"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("absent.txt",), "absent.txt"),
        (("kelda-outbond",), "kelda-outbound"),
        (("prompts.txt", "--input", "ear"), "ear"),
        (("prompts.txt", "--input", "absent.wav"), "absent.wav"),
        (("prompts.txt", "--speak", "--output", "none"), "--speak"),
    ],
)
def test_what_can_go_wrong_is_one_line(arguments: tuple[str, ...], says: str, tmp_path: Path) -> None:
    (tmp_path / "prompts.txt").write_text("gear down\n")
    write_wav(tmp_path / "quiet.wav", np.zeros(1600, np.int16))
    given = [str(tmp_path / each) if each.endswith((".txt", ".wav")) else each for each in arguments]
    if "--input" not in given:
        given += ["--input", str(tmp_path / "quiet.wav")]
    done = voice_trainer("record", *given, "--out", tmp_path / "corpus", home=tmp_path)
    assert says in one_line_of_trouble(done)


def test_a_damaged_manifest_is_left_alone(prompts: Path, tmp_path: Path) -> None:
    folder = tmp_path / "corpus"
    folder.mkdir()
    (folder / "manifest.jsonl").write_text("not a line\nnor this\n")
    done = voice_trainer("record", prompts, "--out", folder, "--input", "x.wav", home=tmp_path)
    assert "manifest.jsonl:1" in one_line_of_trouble(done)
    assert (folder / "manifest.jsonl").read_text() == "not a line\nnor this\n"
