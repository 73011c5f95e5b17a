"""A file put in place whole or not at all: what was there before stays until then."""

from __future__ import annotations

import os
import secrets
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write beside `path`, then rename. Through a symbolic link its target is replaced. Raises OSError for `path`."""
    target = path.resolve()
    temporary = (
        target.parent / f".writing-{secrets.token_hex(6)}"
    )  # short: the name itself may be as long as can be
    try:
        descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o666)
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(target)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise OSError(error.errno, error.strerror, str(path)) from error
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
