"""A corpus grows a line at a time, and goes on where it was left."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest

from voice_trainer.archive.corpus_folder import CorpusFolder, Recording
from voice_trainer.archive.errors import ArchiveError

ANONYMOUS = ("anonymous", "as recorded")


def test_a_line_is_what_was_agreed(tmp_path: Path) -> None:
    corpus = CorpusFolder(tmp_path / "a" / "corpus")
    corpus.add(Recording(file="x.wav", said="gear down"))
    corpus.add(Recording(file="y.wav", said="gear up", speaker="S 1", condition="car", drill="d"))
    manifest = corpus.folder / "manifest.jsonl"
    assert [json.loads(line) for line in manifest.read_text().splitlines()] == [
        {"file": "x.wav", "said": "gear down", "speaker": "anonymous", "condition": "as recorded"},
        {"file": "y.wav", "said": "gear up", "speaker": "S 1", "condition": "car", "drill": "d"},
    ]
    assert stat.S_IMODE(manifest.stat().st_mode) == 0o600
    assert stat.S_IMODE(corpus.folder.stat().st_mode) == 0o700


def test_what_is_there_is_not_asked_for_again(tmp_path: Path) -> None:
    corpus = CorpusFolder(tmp_path)
    corpus.add(Recording(file="x.wav", said="gear down"))
    again = CorpusFolder(tmp_path)
    wanted = [(said, *ANONYMOUS) for said in ("gear up", "gear down", "gear down")]
    assert again.lacking(wanted) == [0, 2]  # twice on the list is twice to be said
    assert again.lacking([("gear down", "somebody else", "as recorded")]) == [0]
    assert again.lacking([("gear down", "anonymous", "in a car")]) == [0]


def test_no_recording_is_ever_written_over(tmp_path: Path) -> None:
    corpus = CorpusFolder(tmp_path)
    first = corpus.new_file("Anna Ö.")
    assert first.name == "anna-0001.wav"
    first.write_bytes(b"sound")  # its line was never written, or was taken out
    assert CorpusFolder(tmp_path).new_file("Anna Ö.").name == "anna-0002.wav"
    corpus.add(Recording(file="anna-0002.wav", said="x"))
    assert corpus.new_file("Anna Ö.").name == "anna-0003.wav"
    assert corpus.new_file("???").name == "speaker-0002.wav"


@pytest.mark.parametrize(
    ("end", "kept"),
    [('{"file": "b.wav", "sa', 1), ('{"file": "b.wav", "said": "gear up"}', 2), ("\n", 1)],
    ids=["cut off", "whole without its line end", "blank"],
)
def test_a_manifest_goes_on_after_a_crash(end: str, kept: int, tmp_path: Path) -> None:
    manifest = tmp_path / "manifest.jsonl"
    manifest.write_text('{"file": "a.wav", "said": "gear down"}\n' + end)
    corpus = CorpusFolder(tmp_path)
    assert len(corpus.recordings) == kept
    corpus.add(Recording(file="c.wav", said="flaps up"))
    assert [each.file for each in CorpusFolder(tmp_path).recordings][-1] == "c.wav"
    assert len(CorpusFolder(tmp_path).recordings) == kept + 1


def test_lines_of_others_keep_what_is_in_them(tmp_path: Path) -> None:
    (tmp_path / "manifest.jsonl").write_text('{"file": "a.wav", "said": "gear down", "note": "windy"}\n')
    assert CorpusFolder(tmp_path).recordings[0].file == "a.wav"
    assert "windy" in (tmp_path / "manifest.jsonl").read_text()


@pytest.mark.parametrize("line", ["no json", '{"file": "a.wav"}', '{"file": 3, "said": "x"}'])
def test_a_damaged_line_in_the_middle_is_named(line: str, tmp_path: Path) -> None:
    content = f'{line}\n{{"file": "a.wav", "said": "gear down"}}\n'
    (tmp_path / "manifest.jsonl").write_text(content)
    with pytest.raises(ArchiveError, match=r"manifest.jsonl:1: ") as trouble:
        CorpusFolder(tmp_path)
    assert "\n" not in str(trouble.value)
    assert (tmp_path / "manifest.jsonl").read_text() == content


def test_a_folder_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(ArchiveError):
        CorpusFolder(tmp_path / "file" / "corpus")
    with pytest.raises(ArchiveError):
        CorpusFolder(tmp_path / "file")
