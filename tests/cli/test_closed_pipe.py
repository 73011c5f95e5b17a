"""Whoever read our output has gone, as 'head' does: the command ends without a word."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.test_streams import in_a_shell
from voice_trainer.archive.journal_file import read_journal

GONE = 141


def with_nobody_at_the_other_end(
    arguments: list[str], home: Path, *, errors_too: bool = False, stdin: bytes = b""
) -> subprocess.CompletedProcess[bytes]:
    """Run with a pipe for its output that nobody reads any more."""
    theirs, ours = os.pipe()
    os.close(theirs)
    try:
        return subprocess.run(
            [sys.executable, "-m", "voice_trainer", *arguments],
            input=stdin,
            stdout=ours,
            stderr=ours if errors_too else subprocess.PIPE,
            env=os.environ | {"VOICE_TRAINER_HOME": str(home), "NO_COLOR": "1"},
            timeout=120,
            check=False,
        )
    finally:
        os.close(ours)


@pytest.mark.parametrize(
    "command",
    [
        "list",
        "--help",
        "run --help",
        "--version",
        "guide",
        "guide first-drill",
        "schema",
        "packs",
        "models",
        "privacy",
        "due",
        "due --json",
        "progress",
        "progress --json",
        "progress --csv",
        "logbook rebuild",
        "plan kelda-vor-15",
        "check voice_trainer/library/content/kelda-outbound.yaml",
        "check --json tests",
        "doctor",
    ],
)
def test_a_command_whose_reader_has_gone_ends_without_a_word(command: str, tmp_path: Path) -> None:
    done = with_nobody_at_the_other_end(command.split(), tmp_path)
    assert (done.returncode, done.stderr) == (GONE, b"")


def test_head_gets_its_line(tmp_path: Path) -> None:
    done = in_a_shell("list | head -1", tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.count("\n") == 1


def test_a_session_ends_with_its_reader_and_its_journal_is_whole(tmp_path: Path) -> None:
    journal = tmp_path / "j.jsonl"
    command = ["run", "kelda-outbound", "--input", "typed", "--journal", str(journal)]
    done = with_nobody_at_the_other_end(command, tmp_path, stdin=b"+5\n" * 100)
    assert (done.returncode, done.stderr) == (GONE, b"")
    assert not journal.exists()  # it went before the session began
    theirs, ours = os.pipe()
    process = subprocess.Popen(
        [sys.executable, "-m", "voice_trainer", *command],
        stdin=subprocess.PIPE,
        stdout=ours,
        stderr=subprocess.PIPE,
        env=os.environ | {"VOICE_TRAINER_HOME": str(tmp_path), "NO_COLOR": "1"},
    )
    os.close(ours)
    assert process.stdin is not None
    process.stdin.write(b"+1\n")
    process.stdin.flush()
    with os.fdopen(theirs, "rb") as reader:
        while (line := reader.readline()) and b" 0:0" not in line:
            pass
    _, errors = process.communicate(b"+5\n" * 100, timeout=120)
    assert (process.returncode, errors) == (GONE, b"")
    assert read_journal(journal).torn is None


def test_an_error_that_nobody_reads_is_still_an_error(tmp_path: Path) -> None:
    for command in (["run", "no-such-drill"], ["nonsense"]):
        assert with_nobody_at_the_other_end(command, tmp_path, errors_too=True).returncode == 2
