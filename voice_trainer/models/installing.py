"""Putting a model into its place, whole or not at all, with a record of it, and taking it away."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from voice_trainer.models.errors import ModelError, as_of_models, of_the_disk
from voice_trainer.models.records import ArchiveRecord, InstalledRecord, Records, now_utc
from voice_trainer.models.sources import TERMS
from voice_trainer.recognition.likelihood.model_files import PLACES
from voice_trainer.recognition.vosk_folder import content_hash, missing_file
from voice_trainer.unpacking.errors import shown
from voice_trainer.unpacking.placing import folder_for_writing, put_aside, written_beside
from voice_trainer.unpacking.sources import Source

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
    with as_of_models(), folder_for_writing(models_folder, TERMS):
        yield


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
    try:
        with as_of_models(), written_beside(source, models_folder, TERMS) as unfinished:
            record = InstalledRecord(
                content_hash=content_hash(unfinished.folder),
                files=unfinished.sizes,
                source=origin,
                installed_utc=now_utc(),
            )
            # Recorded first: should all end between the two, a record without a model does no harm.
            records.keep(place, record, (name, archive) if archive else None)
            unfinished.put_in_place(place)
    except OSError as error:
        raise of_the_disk(place, error) from error
    return place


def remove(name: str, models_folders: Iterable[Path], records: Records) -> Path:
    """Take away the installed model of that name; returns where it was. Raises ModelError.

    Only what was installed by this program is taken away: what somebody put there by hand is theirs.
    """
    for folder in models_folders:
        place = folder / checked_name(name)
        if not place.is_dir():
            continue
        if place in PLACES:
            raise ModelError(f"{place}: it comes with the program and is no model that was installed")
        if place.is_symlink() or records.installed(place) is None:
            raise ModelError(
                f"{place}: it was not installed by 'models add' or 'models fetch'; delete it yourself"
            )
        with models_folder_for_writing(folder):
            gone = put_aside(place)
            records.forget(place)
            shutil.rmtree(gone, ignore_errors=True)
        return place
    raise ModelError(f"{shown(name)}: no model of this name is installed; 'voice-trainer models' lists them")


def installed_models(
    models_folders: Iterable[Path], records: Records, *, read_all: bool = False
) -> tuple[InstalledModel, ...]:
    """All that is in the models folders but the program's own model, held against the records.

    By sizes, with `read_all` by content.
    """
    return tuple(
        _looked_at(path, records, read_all)
        for folder in models_folders
        if folder.is_dir()
        for path in sorted(folder.iterdir())
        if path.is_dir() and not path.name.startswith(".") and path not in PLACES
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
