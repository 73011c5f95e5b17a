"""Putting a folder into its place, whole or not at all, and taking it away.

It is written into a folder of another name on the same disk, its files are confirmed by the disk, then one rename puts
it in place. What an earlier try left behind is cleared away by the next. A lock file keeps two programs from
installing at once.
"""

from __future__ import annotations

import fcntl
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from voice_trainer.archive.private_folder import private_folder
from voice_trainer.unpacking.errors import UnpackingError, UntrustedError, in_units, of_the_disk
from voice_trainer.unpacking.sources import Source
from voice_trainer.unpacking.terms import Terms

UNFINISHED = ".unfinished-"
LOCK_NAME = ".lock"


@dataclass(frozen=True, slots=True)
class Unfinished:
    """A source that was written beside its place: where, and the sizes of its files in bytes by path."""

    folder: Path
    sizes: dict[str, int]

    def put_in_place(self, place: Path) -> None:
        """Make it `place`, in one step. Raises OSError."""
        self.folder.rename(place)
        _confirm(place.parent)


@contextmanager
def folder_for_writing(folder: Path, terms: Terms) -> Iterator[None]:
    """Keep `folder` to this process, and clear away what earlier ones left. Raises UnpackingError."""
    try:
        private_folder(folder)
        lock = os.open(folder / LOCK_NAME, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    except OSError as error:
        raise of_the_disk(folder, error) from error
    try:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise UnpackingError(
                f"{folder}: another voice_trainer is installing a {terms.thing} there; wait until it has finished"
            ) from error
        for left_behind in folder.glob(f"{UNFINISHED}*"):
            shutil.rmtree(left_behind, ignore_errors=True)
        yield
    finally:
        os.close(lock)


@contextmanager
def written_beside(source: Source, folder: Path, terms: Terms) -> Iterator[Unfinished]:
    """All of `source`, written into `folder` under another name; gone at the end unless it was put in place.

    To be called inside `folder_for_writing`. Raises OSError and UnpackingError.
    """
    _room_for(source, folder, terms)
    unfinished: Path | None = None
    try:
        unfinished = Path(tempfile.mkdtemp(prefix=UNFINISHED, dir=folder))
        yield Unfinished(unfinished, _write(source, unfinished, terms))
    finally:
        if unfinished is not None:
            shutil.rmtree(unfinished, ignore_errors=True)


def put_aside(place: Path) -> Path:
    """Give what is in `place` another name, so that it is nothing any more, should the deleting be cut short.

    Returns the folder to delete. To be called inside `folder_for_writing`. Raises UnpackingError.
    """
    try:
        gone = Path(tempfile.mkdtemp(prefix=UNFINISHED, dir=place.parent))
        place.rename(gone / place.name)
    except OSError as error:
        raise of_the_disk(place, error) from error
    return gone


def _room_for(source: Source, folder: Path, terms: Terms) -> None:
    stated = source.stated_bytes
    if stated > terms.most_bytes_from(source.packed_bytes):
        raise _too_large(source, stated, terms)
    free = shutil.disk_usage(folder).free
    if stated > free:
        raise UnpackingError(
            f"{folder}: the disk has no room: {in_units(stated)} are needed and {in_units(free)} are "
            "free; make room, then run the same again"
        )


def _write(source: Source, folder: Path, terms: Terms) -> dict[str, int]:
    """Write every file, counting what really comes; the sizes by path. Raises OSError and UnpackingError."""
    most, written, sizes = terms.most_bytes_from(source.packed_bytes), 0, {}
    for file in source.files:
        target = folder.joinpath(*file.parts)
        target.parent.mkdir(parents=True, exist_ok=True)
        size = 0
        with target.open("xb") as content:
            for piece in file.pieces():
                size += len(piece)
                if written + size > most:
                    raise _too_large(source, written + size, terms)
                content.write(piece)
            content.flush()
            os.fsync(content.fileno())
        written += size
        sizes["/".join(file.parts)] = size
    return sizes


def _too_large(source: Source, size_bytes: int, terms: Terms) -> UntrustedError:
    packed = "" if source.packed_bytes is None else f" out of {in_units(source.packed_bytes)}"
    return UntrustedError(
        f"{source.path}: nothing was installed, since it would become {in_units(size_bytes)} or more{packed}, "
        f"which no {terms.thing} does; {terms.advice}"
    )


def _confirm(folder: Path) -> None:
    """Have the disk keep the names in a folder."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
