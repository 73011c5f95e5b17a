"""Disks that are full: a real file system of 64 kB, and a limit of the kernel on the size of files."""

from __future__ import annotations

import os
import resource
import shlex
import subprocess
import sys
from collections.abc import Sequence
from functools import cache
from pathlib import Path

UNSHARE = ("unshare", "--mount", "--map-root-user")


@cache
def may_mount() -> bool:
    """Whether this machine lets us mount a file system that only we see."""
    command = [*UNSHARE, "sh", "-c", "mount -t tmpfs none /mnt"]
    try:
        return subprocess.run(command, capture_output=True, check=False).returncode == 0
    except OSError:
        return False


def on_a_small_disk(
    folder: Path, arguments: Sequence[str | Path], env: dict[str, str], before: str = "true"
) -> tuple[subprocess.CompletedProcess[str], str]:
    """Run `voice-trainer ARGUMENTS` with a disk of 64 kB at `folder`, after the shell's command `before`.

    Returns what came of it, without what was printed in the end: the files on that disk with their sizes.
    """
    program = shlex.join([sys.executable, "-m", "voice_trainer", *map(str, arguments)])
    place = shlex.quote(str(folder))
    script = (
        f"mount -t tmpfs -o size=64k none {place} && {{ {before}; }} && {program}; code=$?; "
        f"printf '\\n--\\n'; find {place} -type f -printf '%P %s\\n' | sort; exit $code"
    )
    done = subprocess.run(
        [*UNSHARE, "sh", "-c", script], capture_output=True, text=True, env=os.environ | env, check=False
    )
    printed, _, left = done.stdout.partition("\n--\n")
    done.stdout = printed
    return done, left


def with_small_files(
    most_bytes: int, arguments: Sequence[str | Path], env: dict[str, str]
) -> subprocess.CompletedProcess[str]:
    """Run `voice-trainer ARGUMENTS` where no file may become larger than that."""
    return subprocess.run(
        [sys.executable, "-m", "voice_trainer", *map(str, arguments)],
        capture_output=True,
        text=True,
        env=os.environ | env,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes)),
        check=False,
    )
