"""What a model is installed from: a list of files, each with its place and its bytes.

A source is checked before a byte is written: places that climb out, links, files that are two at once. Sizes
are not believed here; whoever writes counts.
"""

from __future__ import annotations

import os
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from voice_trainer.models.errors import ModelError, SourceError, shown
from voice_trainer.recognition.vosk_folder import MODEL_FILES

MOST_FILES = 1_000
"""A small model has a dozen files, a large one some dozens."""

PIECE_BYTES = 1 << 18

_DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    OverflowError,
    OSError,
)
"""What reading a ZIP archive raises that is damaged or of an unusual kind, by experience with damaged ones."""

_DRIVE = re.compile(r"^[A-Za-z]:")

Parts = tuple[str, ...]
"""A place below a folder: the names from the top down."""


@dataclass(frozen=True, slots=True)
class SourceFile:
    """A file to be written: its place, the size that is stated for it, and its bytes in pieces."""

    parts: Parts
    stated_bytes: int
    pieces: Callable[[], Iterator[bytes]] = field(compare=False)


@dataclass(frozen=True, slots=True)
class Source:
    """A whole model. `packed_bytes` is the size of the archive, None for a folder."""

    path: Path
    own_name: str
    files: tuple[SourceFile, ...]
    packed_bytes: int | None = None

    @property
    def stated_bytes(self) -> int:
        """The size that is stated for all the files together."""
        return sum(file.stated_bytes for file in self.files)


def source_at(path: Path) -> Source:
    """The model in a folder or in a ZIP archive. Raises ModelError where it is none, or not to be trusted."""
    if path.is_dir():
        return _folder_source(path)
    if not path.is_file():
        raise ModelError(f"{path}: there is no such folder or archive; name a model's folder or its .zip")
    return _archive_source(path)


def safe_parts(name: str) -> Parts:
    """The place that a name in an archive means. Raises ValueError unless it is a place below the folder."""
    if "\\" in name or not name.isprintable():
        raise ValueError("a name with characters that no model needs")
    if name.startswith("/") or _DRIVE.match(name):
        raise ValueError("an absolute path")
    parts = tuple(name.removesuffix("/").split("/"))
    if ".." in parts:
        raise ValueError("a path that climbs out of its folder")
    if any(part in ("", ".") for part in parts):
        raise ValueError("a path with an empty part")
    return parts


def _archive_source(path: Path) -> Source:
    try:
        # Left open: the files are read from it later, and it closes with the last of them.
        archive = zipfile.ZipFile(path)
        entries = archive.infolist()
    except _DAMAGE as error:
        raise _damaged(path, error) from error
    if len(entries) > MOST_FILES:
        raise _refused(path, f"it holds {len(entries)} files, and a model has no more than {MOST_FILES}")
    packed_bytes = path.stat().st_size
    if sum(entry.compress_size for entry in entries) > packed_bytes:
        raise _refused(path, "its files overlap one another")
    files = []
    for entry in entries:
        parts = _checked_entry(path, entry)
        if not entry.is_dir():
            files.append(SourceFile(parts, entry.file_size, _Unpacked(path, archive, entry)))
    _no_two_in_one_place(path, (file.parts for file in files))
    root = _model_root(path, [file.parts for file in files])
    own_name = root[-1] if root else path.stem
    return Source(path, own_name, _below(root, files), packed_bytes)


def _checked_entry(path: Path, entry: zipfile.ZipInfo) -> Parts:
    try:
        parts = safe_parts(entry.orig_filename)
    except ValueError as error:
        raise _refused(path, f"it holds {error}: {shown(entry.orig_filename)}") from error
    # The upper half of the attributes is the Unix mode, 0 where the archive comes from elsewhere.
    kind = stat.S_IFMT(entry.external_attr >> 16)
    if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
        what = "a link" if kind == stat.S_IFLNK else "a device or the like"
        raise _refused(path, f"it holds {what}: {shown(entry.filename)}")
    if entry.flag_bits & 0x1:
        raise _refused(path, f"{shown(entry.filename)} in it is encrypted")
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise _refused(path, f"{shown(entry.filename)} in it is packed in an unusual way")
    return parts


@dataclass(frozen=True, slots=True)
class _Unpacked:
    """The bytes of a file in an archive; the module `zipfile` checks their CRC at the end."""

    path: Path
    archive: zipfile.ZipFile
    entry: zipfile.ZipInfo

    def __call__(self) -> Iterator[bytes]:
        try:
            with self.archive.open(self.entry) as content:
                while True:
                    piece = content.read(PIECE_BYTES)
                    if not piece:
                        return
                    yield piece
        except _DAMAGE as error:
            raise _damaged(self.path, error) from error


def _folder_source(path: Path) -> Source:
    files = []
    for file in _walk(path):
        parts = file.relative_to(path).parts
        status = file.lstat()
        if stat.S_ISLNK(status.st_mode):
            raise ModelError(f"{file}: a link; put the file itself there, then add the folder again")
        if not stat.S_ISREG(status.st_mode):
            raise ModelError(f"{file}: no ordinary file; take it out of the folder, then add it again")
        files.append(SourceFile(parts, status.st_size, _Copied(file)))
        if len(files) > MOST_FILES:
            raise _refused(path, f"it holds more than {MOST_FILES} files")
    root = _model_root(path, [file.parts for file in files])
    return Source(path, root[-1] if root else path.resolve().name, _below(root, files))


def _walk(path: Path) -> Iterator[Path]:
    """Everything below a folder but the folders; links to folders are not followed. Raises OSError."""
    for entry in sorted(os.scandir(path), key=lambda entry: entry.name):
        if entry.is_dir(follow_symlinks=False):
            yield from _walk(Path(entry.path))
        else:
            yield Path(entry.path)


@dataclass(frozen=True, slots=True)
class _Copied:
    path: Path

    def __call__(self) -> Iterator[bytes]:
        try:
            with self.path.open("rb") as content:
                while piece := content.read(PIECE_BYTES):
                    yield piece
        except OSError as error:
            raise ModelError(
                f"{self.path}: it can't be read ({error.strerror}); check its name and permissions"
            ) from error


def _no_two_in_one_place(path: Path, places: Iterable[Parts]) -> None:
    """Refuse a file that is there twice, or is a folder too; capitals don't count, as on some systems' disks."""
    files: set[Parts] = set()
    folders: set[Parts] = set()
    for parts in places:
        folded = tuple(part.casefold() for part in parts)
        above = {folded[:length] for length in range(1, len(folded))}
        if folded in files or folded in folders or above & files:
            raise _refused(path, f"two things in it have one name: {shown('/'.join(parts))}")
        files.add(folded)
        folders |= above


def _model_root(path: Path, places: list[Parts]) -> Parts:
    """The folder inside the source that is the model: the source itself, or a folder in it."""
    first = tuple(MODEL_FILES[0].split("/"))
    roots = [parts[: -len(first)] for parts in places if parts[-len(first) :] == first]
    if not roots:
        raise _no_model(path, MODEL_FILES[0])
    if len(roots) > 1:
        raise SourceError(f"{path}: it holds {len(roots)} models; install each by itself")
    present = set(places)
    for name in MODEL_FILES:
        if (*roots[0], *name.split("/")) not in present:
            raise _no_model(path, name)
    return roots[0]


def _below(root: Parts, files: Iterable[SourceFile]) -> tuple[SourceFile, ...]:
    """The files of the model itself; what lies beside it in an archive is left there."""
    depth = len(root)
    return tuple(
        SourceFile(file.parts[depth:], file.stated_bytes, file.pieces)
        for file in files
        if file.parts[:depth] == root
    )


def _no_model(path: Path, missing: str) -> SourceError:
    return SourceError(
        f"{path}: no Vosk model that can be used: {missing} is missing; a small Vosk model is needed, whose "
        "grammar can change (see models/README.md)"
    )


def _refused(path: Path, what: str) -> SourceError:
    return SourceError(f"{path}: nothing was installed, since {what}; get the model from its publisher")


def _damaged(path: Path, error: Exception) -> SourceError:
    said = error.strerror if isinstance(error, OSError) else str(error)
    return SourceError(
        f"{path}: this is no ZIP archive, or a damaged one ({shown(said or 'cut off')[1:-1]}); get it again"
    )
