"""Files put in place whole or not at all: what was there before stays until then, and no half file is left."""

from __future__ import annotations

import errno
import os
import secrets
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from voice_trainer.outputs.checking import check_output
from voice_trainer.outputs.errors import OutputError
from voice_trainer.outputs.kinds import Kind
from voice_trainer.outputs.refusals import advice_for, why

_NO_LINKS = (errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK)


def write_output(option: str, path: Path, kind: Kind, content: bytes | str) -> None:
    """Write a file of that kind, over an older one of it at most. Raises OutputError, whose line begins with `option`.

    What may be there is looked at again: it may have changed since `check_output`.
    """
    check_output(option, path, kind)
    try:
        write_whole(path, _bytes(content), mode=0o600 if kind.private else 0o666, over=kind.mark is not None)
    except OSError as error:
        where = f"{option}: " if option else ""
        raise OutputError(f"{where}{path}: can't be written ({why(error)}); {advice_for(error)}") from error


def write_new_files(folder: Path, texts: Mapping[str, str]) -> list[Path]:
    """Write files that must not be there yet into a folder, which is made; all of them, or none.

    Names may have folders in them. Returns the files, in their order. Raises OutputError.
    """
    paths = [folder / name for name in texts]
    if there := next((path for path in paths if os.path.lexists(path)), None):
        raise OutputError(f"{there} is there already; nothing was written: name another folder")
    made: list[Path] = []
    path = folder
    try:
        for path, text in zip(paths, texts.values(), strict=True):
            made += _folders_made(path.parent)
            write_whole(path, text.encode("utf-8"), over=False)
            made.append(path)
    except OSError as error:
        _take_back(made)
        raise OutputError(
            f"{path}: can't be written ({why(error)}), so nothing was; {advice_for(error)}"
        ) from error
    except BaseException:
        _take_back(made)
        raise
    return paths


def write_whole(path: Path, content: bytes, *, mode: int = 0o666, over: bool = True) -> None:
    """Write beside `path`, then rename; through a symbolic link its target is replaced. Raises OSError for `path`.

    Unless `over`, a file that is there stays, and is an error (FileExistsError).
    """
    try:
        target = path.resolve()
    except RuntimeError as error:  # links that lead in a circle
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP), str(path)) from error
    # The temporary name is short: the file's own may be as long as can be.
    temporary = target.parent / f".writing-{secrets.token_hex(6)}"
    try:
        descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, mode)
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if over:
            temporary.replace(target)
        else:
            _put_where_nothing_is(temporary, target)
    except OSError as error:
        with suppress(OSError):
            temporary.unlink()
        raise OSError(error.errno, error.strerror, str(path)) from error
    except BaseException:
        with suppress(OSError):
            temporary.unlink()
        raise


def _put_where_nothing_is(temporary: Path, target: Path) -> None:
    """A link, unlike a rename, is refused where there is something, also what came in this very moment."""
    try:
        os.link(temporary, target)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        if os.path.lexists(target):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target)) from error
        temporary.rename(target)
    else:
        temporary.unlink()


def _folders_made(folder: Path) -> list[Path]:
    """Make a folder with all above it that are missing; those that were made, the outermost first. Raises OSError."""
    missing: list[Path] = []
    while not folder.exists():
        missing.append(folder)
        folder = folder.parent
    missing.reverse()
    for number, each in enumerate(missing):
        try:
            each.mkdir()
        except OSError:
            _take_back(missing[:number])
            raise
    return missing


def _take_back(made: list[Path]) -> None:
    for each in reversed(made):
        with suppress(OSError):
            each.rmdir() if each.is_dir() else each.unlink()


def _bytes(content: bytes | str) -> bytes:
    return content.encode("utf-8") if isinstance(content, str) else content
