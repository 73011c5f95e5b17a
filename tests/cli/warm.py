"""Running the command line in a process of its own that has loaded it already: a tenth of the time to start."""

from __future__ import annotations

import multiprocessing
import os
import sys
from pathlib import Path

_CONTEXT = multiprocessing.get_context("forkserver")
_CONTEXT.set_forkserver_preload(
    [
        "pytest",
        "tests.cli.warm",
        "voice_trainer.cli.main",
        "voice_trainer.cli.running",
        "voice_trainer.cli.planning",
    ]
)


def warm_voice_trainer(
    arguments: list[str], *, folder: Path, env: dict[str, str], stdin: Path | None, output: Path
) -> int | None:
    """Run `voice-trainer ARGUMENTS` in `folder`; what it prints goes to `output`. Returns its exit code."""
    process = _CONTEXT.Process(target=_run, args=(arguments, folder, env, stdin or Path(os.devnull), output))
    process.start()
    process.join(timeout=120)
    if process.exitcode is None:
        process.kill()
        process.join()
        raise AssertionError(
            f"still running: voice-trainer {arguments}\n{output.read_text(encoding='utf-8')}"
        )
    return process.exitcode


def _run(arguments: list[str], folder: Path, env: dict[str, str], stdin: Path, output: Path) -> None:
    os.chdir(folder)
    os.environ.clear()
    os.environ.update(env)
    os.dup2(os.open(stdin, os.O_RDONLY), 0)
    out = os.open(output, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(out, 1)
    os.dup2(out, 2)
    sys.stdin = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115 - as long as the process

    from voice_trainer.cli.main import main

    sys.exit(main(arguments))
