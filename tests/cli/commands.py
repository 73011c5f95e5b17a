"""Running the command line as a user does: in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.cli import warm_start


def voice_trainer(
    *arguments: str | Path,
    home: Path,
    stdin: str = "",
    env: dict[str, str] | None = None,
    timeout: float = 60,
) -> subprocess.CompletedProcess[str]:
    """Run `python -m voice_trainer ARGUMENTS` with its files below `home`, without colour."""
    environment: dict[str, str] = (
        os.environ | {"VOICE_TRAINER_HOME": str(home), "NO_COLOR": "1"} | (env or {})
    )
    texts = [str(each) for each in arguments]
    if warm_start.is_usable(environment):
        return warm_start.run(texts, stdin=stdin, env=environment, timeout=timeout)
    return subprocess.run(
        [sys.executable, "-m", "voice_trainer", *texts],
        input=stdin,
        capture_output=True,
        text=True,
        env=environment,
        timeout=timeout,
        check=False,
    )


def one_line_of_trouble(done: subprocess.CompletedProcess[str]) -> str:
    """The error line of a command that could not do what it was asked: exit 2, one line, no traceback."""
    assert done.returncode == 2, (done.returncode, done.stdout, done.stderr)
    lines = done.stderr.strip().splitlines()
    assert len(lines) == 1, done.stderr
    assert lines[0].startswith("voice-trainer: ")
    assert "Traceback" not in done.stderr
    return lines[0]
