"""The bytes of a file that somebody wrote by hand."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from voice_trainer.library.errors import DrillError, Problem, quoted
from voice_trainer.library.strict_yaml import MOST_BYTES

MOST_OF_A_HEAD = 16 * 1024
"""Bytes in which a file's first key is looked for: a long comment may stand before it."""


def content_of(
    path: Path,
    file: str,
    advice: str = "name a drill file, such as my-drill.yaml",
    most_bytes: int = MOST_BYTES,
) -> bytes:
    """What is in a regular file, one byte more than is allowed at most; anything else might never end.

    `file` is its name for messages, `advice` which file to name instead. Raises DrillError.
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise DrillError(Problem(file, "this is not a file", advice))
        with path.open("rb") as opened:
            return opened.read(most_bytes + 1)
    except FileNotFoundError as error:
        raise DrillError(Problem(file, "there is no such file", "check its name and folder")) from error
    except OSError as error:
        what = f"the file can't be read ({os.strerror(error.errno or 0)})"
        raise DrillError(Problem(file, what, "check its name and permissions")) from error
    except ValueError as error:
        raise DrillError(Problem(quoted(file), "this is not the name of a file", "check it")) from error


def first_key(path: Path) -> str:
    """The first key of a YAML file, which says what kind of file it is; '' for what can't be read."""
    try:
        with path.open("rb") as file:
            head = file.read(MOST_OF_A_HEAD)
    except (OSError, ValueError):
        return ""
    lines = (line.strip() for line in head.decode("utf-8", errors="replace").splitlines())
    first = next((line for line in lines if line and not line.startswith(("#", "---"))), "")
    return first.partition(":")[0].strip()
