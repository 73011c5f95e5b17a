"""Standard streams that are closed, full, endless or no text: never a traceback, and the journal is whole."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.archive.journal_file import read_journal

TYPED = "run kelda-outbound --input typed"


def in_a_shell(command: str, home: Path, **env: str) -> subprocess.CompletedProcess[str]:
    """`voice-trainer COMMAND` with a shell's redirections in it."""
    environment = os.environ | {"VOICE_TRAINER_HOME": str(home), "NO_COLOR": "1"} | env
    return subprocess.run(
        ["sh", "-c", f"{sys.executable} -m voice_trainer {command}"],
        capture_output=True,
        text=True,
        errors="replace",
        env=environment,
        timeout=60,
        check=False,
    )


@pytest.mark.parametrize("closed", ["<&-", ">&- </dev/null", "<&- >&- 2>&-"])
def test_a_stream_that_is_closed_is_nobodys_and_no_files(closed: str, tmp_path: Path) -> None:
    done = in_a_shell(f"{TYPED} --journal {tmp_path}/j.jsonl {closed}", tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    # Nothing that was printed went into the file that was opened in the stream's place.
    assert read_journal(tmp_path / "j.jsonl").torn is None


def test_a_full_disk_behind_standard_output_is_one_line(tmp_path: Path) -> None:
    done = in_a_shell("list > /dev/full", tmp_path)
    assert "make room on the disk" in one_line_of_trouble(done)


def test_bytes_that_are_no_text_are_read_as_far_as_they_go(tmp_path: Path) -> None:
    (tmp_path / "lines").write_bytes(bytes(range(256)) * 40 + b"\n+5\n")
    done = in_a_shell(f"{TYPED} < {tmp_path}/lines", tmp_path)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_line_without_an_end_is_cut(tmp_path: Path) -> None:
    done = in_a_shell(f"{TYPED} < /dev/zero", tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert "ended: time limit" in done.stdout


def test_a_terminal_that_lacks_signs_shows_others(tmp_path: Path) -> None:
    done = in_a_shell("run '\u00fcber' --input typed", tmp_path, PYTHONIOENCODING="ascii")
    assert "there is no drill of this name" in one_line_of_trouble(done)


def test_a_name_that_is_no_text_is_refused(tmp_path: Path) -> None:
    done = in_a_shell("hear \"$(printf '\\377.wav')\" --expect 'gear down'", tmp_path)
    assert "is not text in this locale's encoding" in one_line_of_trouble(done)


def test_what_never_ends_is_not_read(tmp_path: Path) -> None:
    for arguments in (
        ("hear", "--manifest", "/dev/zero"),
        ("record", "/dev/zero", "--out", tmp_path / "corpus"),
        ("hear", "/dev/zero", "--expect", "gear down"),
        ("run", "/dev/zero", "--input", "typed"),
        ("debrief", "/dev/zero"),
    ):
        assert "/dev/zero: " in one_line_of_trouble(voice_trainer(*arguments, home=tmp_path, timeout=20))


def test_a_home_that_is_nobodys(tmp_path: Path) -> None:
    line = one_line_of_trouble(voice_trainer("debrief", home=Path("~nobody-of-this-name/x")))
    assert "VOICE_TRAINER_HOME" in line
