"""Each question of the first run is asked once, whatever becomes of the file."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.first_run_file import settle_question, settled_questions


def test_what_was_settled_is_known_again(tmp_path: Path) -> None:
    path = tmp_path / "data" / "first-run.json"
    assert settled_questions(path) == frozenset()
    for name in ("cautions", "level check", "cautions"):
        settle_question(path, name)
    assert settled_questions(path) == {"cautions", "level check"}
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@pytest.mark.parametrize("content", ["", "[]", '{"settled": 5}', '{"settled": [1]}', "\x00"])
def test_a_damaged_file_settles_nothing_and_is_written_anew(tmp_path: Path, content: str) -> None:
    path = tmp_path / "first-run.json"
    path.write_text(content)
    assert settled_questions(path) == frozenset()
    settle_question(path, "cautions")
    assert settled_questions(path) == {"cautions"}


def test_where_it_can_not_be_is_said_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(ArchiveError, match=r"first-run.json: it can't be read .*; make it readable"):
        settle_question(tmp_path / "file" / "first-run.json", "cautions")
