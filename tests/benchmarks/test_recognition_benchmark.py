"""The recognition benchmark: how it counts, and a small run of all of it."""

import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from scripts.benchmarks.listeners import fits
from scripts.benchmarks.recognition import bounds, share

ROOT = Path(__file__).parents[2]

SAMPLE = 8


@pytest.mark.parametrize(
    ("heard", "outcome"),
    [
        ("turn left heading two eight four", "accepted"),
        ("to turn left the heading two eight four", "accepted"),
        ("turn left heading two eight five", "called wrong"),
        ("turn right heading two eight four", "called wrong"),
        ("turn left heading two eight", "called wrong"),
        ("what would you like for dinner", "unclear"),
        ("", "unclear"),
    ],
)
def test_the_fuzzy_rule_wants_every_digit_and_every_opposite(heard: str, outcome: str):
    assert fits(heard.split(), ["turn", "left", "heading", "two", "eight", "four"]) == outcome


def test_bounds_hold_the_share_and_are_wider_where_voices_differ():
    alike = [(f"voice {at % 10}", at % 40 < 20) for at in range(400)]
    apart = [(f"voice {at % 10}", at % 10 < 5) for at in range(400)]
    for counted in (alike, apart):
        low, high = bounds(counted)
        assert low <= 50 <= high
    (low, high), (low_apart, high_apart) = bounds(alike), bounds(apart)
    assert high_apart - low_apart > high - low


def test_nothing_counted_bounds_it_by_three_in_so_many():
    assert bounds([("a", False)] * 100 + [("b", False)] * 200) == (0.0, 1.0)
    assert bounds([("a", True)] * 300) == (99.0, 100.0)


def test_shares_are_what_they_were_before_there_were_families():
    # Worked out by the count that this benchmark had until then.
    records = [{"voice": f"v{at % 7}", "hit": at % 5 < 4 - at % 7 // 3} for at in range(90)]
    assert share(records, lambda each: each["hit"]) == "65.6 % [55.6-74.7] 59/90"


def test_nothing_of_other_families_is_loaded_without_being_asked_for():
    command = "import sys, scripts.benchmarks.recognition; print({'torch', 'hibari', 'onnxruntime'} & {*sys.modules})"
    done = subprocess.run(
        [sys.executable, "-c", command], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout == "set()\n"


def _bench(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "scripts.benchmarks.recognition", *arguments]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def test_what_it_cannot_measure_is_one_line(tmp_path: Path):
    for arguments, fault in (
        (("--engines", "best"), "there is no engine 'best' to compare"),
        (("--corpus", str(tmp_path), "--engines", "likelihood"), "manifest.jsonl: can't be read"),
        (("--conditions", "clean", "--engines", "likelihood"), "--conditions goes with --natural only"),
        (("--natural", str(tmp_path)), "kokoro-int8.onnx is no file: scripts/train/README.md says"),
        (("--natural", str(tmp_path), "--half", "tuning"), "--natural hears the test half only"),
        (("--natural", str(tmp_path), "--corpus", str(tmp_path)), "--natural speaks the made corpus"),
        (("--natural", str(tmp_path), "--conditions", "clean,fog"), "there is no condition 'fog'"),
    ):
        done = _bench(*arguments)
        assert done.returncode == 2
        assert fault in done.stderr
        assert "Traceback" not in done.stderr


@pytest.mark.slow
def test_a_small_sample_of_the_whole_benchmark(tmp_path: Path):
    out = tmp_path / "heard.jsonl"
    arguments = ("--size", str(SAMPLE), "--corpus-cache", str(tmp_path), "--json", str(out))
    done = _bench(*arguments)
    assert done.returncode == 0, done.stderr
    for row in ("this program", "pocketsphinx alone", "the same model's transcript"):
        assert re.search(rf"^\| {re.escape(row)}.*\d/\d", done.stdout, re.MULTILINE), row
    assert "Four calls in one breath" in done.stdout
    records = [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()]
    ours = [each for each in records if each["listener"] == "likelihood" and each["kind"] != "four calls"]
    assert len(ours) == SAMPLE
    assert {each["half"] for each in records} == {"test"}
    assert sum(each["kind"] == "twin" and each["outcome"] == "accepted" for each in ours) <= 1
    assert not (tmp_path / "families").exists()
    assert not any("kokoro" in each["voice"] for each in records)
    rendered = sorted(tmp_path.glob("audio/*/*.flac"))
    assert len(rendered) == 2 * SAMPLE
    files = {file: file.stat().st_mtime_ns for file in rendered}
    again = _bench(*arguments[:-2], "--engines", "transcript", "--half", "test")
    assert again.returncode == 0, again.stderr
    assert files == {file: file.stat().st_mtime_ns for file in sorted(tmp_path.glob("audio/*/*.flac"))}


@pytest.mark.slow
def test_a_recorded_corpus_is_measured(tmp_path: Path):
    silence = np.zeros(16_000)
    for name in ("a", "b"):
        soundfile.write(tmp_path / f"{name}.wav", silence, 16_000)
    entries = [{"file": "a.wav", "said": "gear down"}, {"file": "b.wav", "said": "", "speaker": "ann"}]
    (tmp_path / "manifest.jsonl").write_text("\n".join(map(json.dumps, entries)), encoding="utf-8")
    done = _bench("--corpus", str(tmp_path), "--engines", "likelihood")
    assert done.returncode == 0, done.stderr
    assert re.search(r"^\| this program \| 0\.0 % \[0\.0-100\.0\] 0/1 \|", done.stdout, re.MULTILINE)
