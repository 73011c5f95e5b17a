"""`listen`: a drill's cues and right calls, one after the other, in a file."""

from __future__ import annotations

from pathlib import Path

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.audio.wav import read_wav
from voice_trainer.cli.demonstrating import lines_of
from voice_trainer.library.builtin import find_drill


def test_the_order_is_that_of_the_drill_and_what_is_forbidden_is_not_said() -> None:
    lines = list(lines_of(find_drill("approach-callouts")))
    texts = [text for _, text in lines]
    assert texts.index("one hundred above approaching minimums") < texts.index("minimums no runway")
    assert "runway in sight" not in texts
    assert {speaker for speaker, _ in lines} == {"instructor", "aeroplane", "student"}
    generic, *_ = lines_of(find_drill("engine-failure"))
    assert generic == ("instructor", "Generic: use your own aircraft's handbook.")


def test_a_drill_is_spoken_into_a_file_that_must_not_be_there(tmp_path: Path) -> None:
    out = tmp_path / "heard.wav"
    done = voice_trainer("listen", "reckon-descent", "--seed", "3", "--out", out, home=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    lines = list(lines_of(find_drill("reckon-descent", 3)))
    assert [line[11:] for line in done.stdout.splitlines()[1:-1]] == [text for _, text in lines]
    samples = read_wav(out)
    words = sum(len(text.split()) for _, text in lines)
    assert words / 160 * 60 * 0.5 < len(samples) / 16_000 < words / 160 * 60 * 2 + len(lines)
    assert abs(samples).max() > 2000
    again = voice_trainer("listen", "reckon-descent", "--out", out, home=tmp_path)
    assert "is there already" in one_line_of_trouble(again)
    assert len(read_wav(out)) == len(samples)


def test_a_file_of_another_kind_is_refused(tmp_path: Path) -> None:
    done = voice_trainer("listen", "reckon-descent", "--out", tmp_path / "heard.mp3", home=tmp_path)
    assert "does not end in .wav" in one_line_of_trouble(done)
