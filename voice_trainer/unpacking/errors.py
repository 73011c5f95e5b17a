"""What can go wrong with what is installed, as one line for the user."""

from __future__ import annotations

import errno
from pathlib import Path

NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
LONGEST_QUOTE = 80


class UnpackingError(Exception):
    """Something that can't be installed or taken away: one line that says what, where and what to do."""


class UntrustedError(UnpackingError):
    """A source that is damaged, or not to be trusted: to try again with the same is of no use."""


def of_the_disk(path: Path, error: OSError) -> UnpackingError:
    """What the operating system refused while `path` was written."""
    return UnpackingError(refusal_of_the_disk(path, error))


def refusal_of_the_disk(path: Path, error: OSError) -> str:
    """The line of `of_the_disk`."""
    if error.errno in NO_ROOM:
        return f"{path}: the disk has no room for it ({error.strerror}); make room, then run the same again"
    return f"{path}: it can't be written ({error.strerror}); make its folder writable"


def shown(text: str) -> str:
    """A name from outside as a message repeats it: one line, cut short, nothing that a terminal would obey."""
    line = "".join(c if c.isprintable() else "?" for c in text)
    return f"'{line}'" if len(line) <= LONGEST_QUOTE else f"'{line[: LONGEST_QUOTE - 1]}…'"


def in_units(size_bytes: int) -> str:
    """A size as people say it: 512 bytes, 41.2 MB, 2.0 GB (of 1000 each)."""
    if size_bytes < 1_000:
        return f"{size_bytes} bytes"
    for unit, size in (("kB", 1e3), ("MB", 1e6)):
        if size_bytes < 1_000 * size:
            return f"{size_bytes / size:.1f} {unit}"
    return f"{size_bytes / 1e9:.1f} GB"
