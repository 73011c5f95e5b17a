"""Putting a model into its place, whole or not at all, and taking it away.

A model is written into a folder of another name on the same disk, its files are confirmed by the disk, then one
rename makes it a model. What an earlier try left behind is cleared away by the next. A lock file keeps two
programs from installing at once.
"""

from __future__ import annotations

import fcntl
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from voice_trainer.archive.journal_file import private_folder
from voice_trainer.models.errors import ModelError, SourceError, in_units, of_the_disk, shown
from voice_trainer.models.records import ArchiveRecord, InstalledRecord, Records, now_utc
from voice_trainer.models.sources import Source
from voice_trainer.recognition.vosk_folder import content_hash, missing_file

MOST_BYTES = 2_000_000_000
"""Unpacked. The largest small model that we have seen has 264 MB; the program has to hold it in memory."""

MOST_TIMES_PACKED = 20
FREE_OF_RATIO_BYTES = 10_000_000
"""Real models unpack to one and a half times their archive or two, short configuration files to more."""

UNFINISHED = ".unfinished-"
LOCK_NAME = ".lock"
DOWNLOADS = ".downloads"

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,99}")


@dataclass(frozen=True, slots=True)
class InstalledModel:
    """A folder in one of the models folders. `trouble` says what is wrong with it, '' where nothing is."""

    path: Path
    size_bytes: int
    recorded: bool
    trouble: str = ""


@contextmanager
def models_folder_for_writing(models_folder: Path) -> Iterator[None]:
    """Keep `models_folder` to this process, and clear away what earlier ones left. Raises ModelError."""
    try:
        private_folder(models_folder)
        lock = os.open(models_folder / LOCK_NAME, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    except OSError as error:
        raise of_the_disk(models_folder, error) from error
    try:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise ModelError(
                f"{models_folder}: another voice_trainer is installing a model there; wait until it has finished"
            ) from error
        for left_behind in models_folder.glob(f"{UNFINISHED}*"):
            shutil.rmtree(left_behind, ignore_errors=True)
        yield
    finally:
        os.close(lock)


def checked_name(name: str) -> str:
    """`name` itself. Raises ModelError unless it can be the name of a model's folder."""
    if not _NAME.fullmatch(name):
        raise ModelError(
            f"{shown(name)} can't be a model's name; choose another with --name (letters, digits, '.', '_', '-')"
        )
    return name


def install(
    source: Source,
    name: str,
    models_folder: Path,
    records: Records,
    *,
    origin: str,
    archive: ArchiveRecord | None = None,
) -> Path:
    """Install `source` as `models_folder`/`name`, and record it; returns that folder.

    To be called inside `models_folder_for_writing`. Raises ModelError; then no part of the model is there.
    """
    place = models_folder / checked_name(name)
    if os.path.lexists(place):
        raise ModelError(
            f"{place}: there is something of this name; 'models remove {name}' takes a model away"
        )
    _room_for(source, models_folder)
    unfinished: Path | None = None
    try:
        unfinished = Path(tempfile.mkdtemp(prefix=UNFINISHED, dir=models_folder))
        files = _write(source, unfinished)
        record = InstalledRecord(
            content_hash=content_hash(unfinished), files=files, source=origin, installed_utc=now_utc()
        )
        # Recorded first: should all end between the two, a record without a model does no harm.
        records.keep(place, record, (name, archive) if archive else None)
        unfinished.rename(place)
        _confirm(models_folder)
    except OSError as error:
        raise of_the_disk(place, error) from error
    finally:
        if unfinished is not None:
            shutil.rmtree(unfinished, ignore_errors=True)
    return place


def remove(name: str, models_folders: Iterable[Path], records: Records) -> Path:
    """Take away the installed model of that name; returns where it was. Raises ModelError.

    Only what was installed by this program is taken away: what somebody put there by hand is theirs.
    """
    for folder in models_folders:
        place = folder / checked_name(name)
        if not place.is_dir():
            continue
        if place.is_symlink() or records.installed(place) is None:
            raise ModelError(
                f"{place}: it was not installed by 'models add' or 'models fetch'; delete it yourself"
            )
        with models_folder_for_writing(folder):
            try:
                # Under another name it is no model any more, should the deleting be cut short.
                gone = Path(tempfile.mkdtemp(prefix=UNFINISHED, dir=folder))
                place.rename(gone / name)
            except OSError as error:
                raise of_the_disk(place, error) from error
            records.forget(place)
            shutil.rmtree(gone, ignore_errors=True)
        return place
    raise ModelError(f"{shown(name)}: no model of this name is installed; 'voice-trainer models' lists them")


def installed_models(
    models_folders: Iterable[Path], records: Records, *, read_all: bool = False
) -> tuple[InstalledModel, ...]:
    """Everything in the models folders, held against the records: by sizes, with `read_all` by content."""
    return tuple(
        _looked_at(path, records, read_all)
        for folder in models_folders
        if folder.is_dir()
        for path in sorted(folder.iterdir())
        if path.is_dir() and not path.name.startswith(".")
    )


def _looked_at(path: Path, records: Records, read_all: bool) -> InstalledModel:
    record = records.installed(path)
    sizes = _sizes(path)
    trouble = ""
    if record is not None and sizes != record.files:
        named = sorted(dict(sizes.items() ^ record.files.items()))[0]
        how = "missing" if named not in sizes else "new" if named not in record.files else "changed"
        trouble = f"not what was installed: {shown(named)[1:-1]} is {how}"
    elif missing := missing_file(path):
        trouble = f"no Vosk model that can be used: {missing} is missing"
    elif record is not None and read_all and content_hash(path) != record.content_hash:
        trouble = "not what was installed: its content has changed"
    return InstalledModel(path, sum(sizes.values()), record is not None, trouble)


def _sizes(path: Path) -> dict[str, int]:
    return {
        file.relative_to(path).as_posix(): file.stat().st_size for file in path.rglob("*") if file.is_file()
    }


def _room_for(source: Source, models_folder: Path) -> None:
    stated = source.stated_bytes
    if stated > _most_bytes(source):
        raise _too_large(source, stated)
    free = shutil.disk_usage(models_folder).free
    if stated > free:
        raise ModelError(
            f"{models_folder}: the disk has no room: {in_units(stated)} are needed and {in_units(free)} are "
            "free; make room, then run the same again"
        )


def _write(source: Source, folder: Path) -> dict[str, int]:
    """Write every file, counting what really comes; the sizes by path. Raises OSError and ModelError."""
    most, written, sizes = _most_bytes(source), 0, {}
    for file in source.files:
        target = folder.joinpath(*file.parts)
        target.parent.mkdir(parents=True, exist_ok=True)
        size = 0
        with target.open("xb") as content:
            for piece in file.pieces():
                size += len(piece)
                if written + size > most:
                    raise _too_large(source, written + size)
                content.write(piece)
            content.flush()
            os.fsync(content.fileno())
        written += size
        sizes["/".join(file.parts)] = size
    return sizes


def _most_bytes(source: Source) -> int:
    if source.packed_bytes is None:
        return MOST_BYTES
    return min(MOST_BYTES, max(FREE_OF_RATIO_BYTES, MOST_TIMES_PACKED * source.packed_bytes))


def _too_large(source: Source, size_bytes: int) -> SourceError:
    packed = "" if source.packed_bytes is None else f" out of {in_units(source.packed_bytes)}"
    return SourceError(
        f"{source.path}: nothing was installed, since it would become {in_units(size_bytes)} or more{packed}, "
        "which no model does; get the model from its publisher"
    )


def _confirm(folder: Path) -> None:
    """Have the disk keep the names in a folder."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
