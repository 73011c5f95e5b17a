"""Scripts that are asked for help give it, and begin nothing."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

SCRIPTS = Path(__file__).parents[2] / "scripts"


@pytest.mark.parametrize(
    "arguments",
    [
        ("test", "--help"),
        ("test", "-h"),
        ("test", "--fast", "--help"),
        ("bench", "--help"),
        ("bench", "session", "-h"),
    ],
)
def test_help_is_a_page_and_no_work(arguments: tuple[str, ...]) -> None:
    name, *rest = arguments
    done = subprocess.run(
        [SCRIPTS / name, *rest],
        capture_output=True,
        text=True,
        timeout=10,
        check=False,
        env={"PATH": "/usr/bin:/bin"},
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert f"  scripts/{name} " in done.stdout
    assert "==" not in done.stdout
    assert "#" not in done.stdout


def test_a_benchmark_that_is_none_is_one_line() -> None:
    done = subprocess.run(
        [SCRIPTS / "bench", "recogniton"], capture_output=True, text=True, timeout=10, check=False
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.splitlines() == [
        "scripts/bench: there is no benchmark 'recogniton'; use session, recognition, corpus, frontends, "
        "logbook, learning, library, flight or voice-activity"
    ]
