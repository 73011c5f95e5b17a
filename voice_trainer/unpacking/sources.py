"""What something is installed from, a folder or a ZIP archive: a list of files, each with its place and its bytes.

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
from dataclasses import dataclass, field, replace
from pathlib import Path

from voice_trainer.unpacking.errors import UnpackingError, UntrustedError, in_units, shown
from voice_trainer.unpacking.terms import Terms

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
    """All of it. `packed_bytes` is the size of the archive, None for a folder."""

    path: Path
    own_name: str
    files: tuple[SourceFile, ...]
    packed_bytes: int | None = None

    @property
    def stated_bytes(self) -> int:
        """The size that is stated for all the files together."""
        return sum(file.stated_bytes for file in self.files)


def open_source(path: Path, terms: Terms, *, left_out: Callable[[str], bool] = lambda name: False) -> Source:
    """What is in a folder or in a ZIP archive, as it lies there. Raises UnpackingError.

    Of a place with a name that is `left_out` nothing is taken; in an archive it has to be a safe place all the same.
    """
    if path.is_dir():
        return _folder_source(path, terms, left_out)
    if not path.is_file():
        raise UnpackingError(
            f"{path}: there is no such folder or archive; name a {terms.thing}'s folder or its .zip"
        )
    return _archive_source(path, terms, left_out)


def below(source: Source, root: Parts) -> Source:
    """What lies in the folder `root` of a source, as a source of its own; what lies beside it is left there."""
    depth = len(root)
    files = tuple(
        SourceFile(file.parts[depth:], file.stated_bytes, file.pieces)
        for file in source.files
        if file.parts[:depth] == root
    )
    return replace(source, own_name=root[-1] if root else source.own_name, files=files)


def refused(path: Path, what: str, terms: Terms) -> UntrustedError:
    """The refusal of a source, since `what`."""
    return UntrustedError(f"{path}: nothing was installed, since {what}; {terms.advice}")


def safe_parts(name: str) -> Parts:
    """The place that a name in an archive means. Raises ValueError unless it is a place below the folder."""
    if "\\" in name or not name.isprintable():
        raise ValueError("a name with characters that no file needs")
    if name.startswith("/") or _DRIVE.match(name):
        raise ValueError("an absolute path")
    parts = tuple(name.removesuffix("/").split("/"))
    if ".." in parts:
        raise ValueError("a path that climbs out of its folder")
    if any(part in ("", ".") for part in parts):
        raise ValueError("a path with an empty part")
    return parts


def _archive_source(path: Path, terms: Terms, left_out: Callable[[str], bool]) -> Source:
    packed_bytes = path.stat().st_size
    if packed_bytes > terms.most_packed_bytes:
        most = in_units(terms.most_packed_bytes)
        raise refused(
            path, f"it has {in_units(packed_bytes)}, and a {terms.thing} no more than {most}", terms
        )
    try:
        # Left open: the files are read from it later, and it closes with the last of them.
        archive = zipfile.ZipFile(path)
    except _DAMAGE as error:
        raise _damaged(path, error) from error
    try:
        files = _checked_files(path, archive, packed_bytes, terms, left_out)
    except BaseException:
        archive.close()  # nobody will read from it
        raise
    return Source(path, path.stem, files, packed_bytes)


def _checked_files(
    path: Path,
    archive: zipfile.ZipFile,
    packed_bytes: int,
    terms: Terms,
    left_out: Callable[[str], bool],
) -> tuple[SourceFile, ...]:
    entries = archive.infolist()
    if len(entries) > terms.most_files:
        what = f"it holds {len(entries)} files, and a {terms.thing} has no more than {terms.most_files}"
        raise refused(path, what, terms)
    if sum(entry.compress_size for entry in entries) > packed_bytes:
        raise refused(path, "its files overlap one another", terms)
    files = []
    for entry in entries:
        parts = _checked_entry(path, entry, terms)
        if not entry.is_dir() and not any(map(left_out, parts)):
            files.append(SourceFile(parts, entry.file_size, _Unpacked(path, archive, entry)))
    _no_two_in_one_place(path, (file.parts for file in files), terms)
    return tuple(files)


def _checked_entry(path: Path, entry: zipfile.ZipInfo, terms: Terms) -> Parts:
    try:
        parts = safe_parts(entry.orig_filename)
    except ValueError as error:
        raise refused(path, f"it holds {error}: {shown(entry.orig_filename)}", terms) from error
    if len(parts) > terms.most_depth:
        raise refused(path, f"it holds folders in folders, too deep: {shown(entry.filename)}", terms)
    # The upper half of the attributes is the Unix mode, 0 where the archive comes from elsewhere.
    kind = stat.S_IFMT(entry.external_attr >> 16)
    if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
        what = "a link" if kind == stat.S_IFLNK else "a device or the like"
        raise refused(path, f"it holds {what}: {shown(entry.filename)}", terms)
    if entry.flag_bits & 0x1:
        raise refused(path, f"{shown(entry.filename)} in it is encrypted", terms)
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise refused(path, f"{shown(entry.filename)} in it is packed in an unusual way", terms)
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


def _folder_source(path: Path, terms: Terms, left_out: Callable[[str], bool]) -> Source:
    files = []
    try:
        for file in _walk(path, left_out, terms.most_depth):
            parts = file.relative_to(path).parts
            try:
                safe_parts("/".join(parts))
            except ValueError as error:
                raise UnpackingError(
                    f"{path}: it holds {error}: {shown('/'.join(parts))}; rename it, then add the folder again"
                ) from error
            status = file.lstat()
            if stat.S_ISLNK(status.st_mode):
                raise UnpackingError(f"{file}: a link; put the file itself there, then add the folder again")
            if not stat.S_ISREG(status.st_mode):
                raise UnpackingError(
                    f"{file}: no ordinary file; take it out of the folder, then add it again"
                )
            files.append(SourceFile(parts, status.st_size, _Copied(file)))
            if len(files) > terms.most_files:
                raise refused(path, f"it holds more than {terms.most_files} files", terms)
    except OSError as error:
        raise UnpackingError(
            f"{error.filename or path}: it can't be read ({error.strerror}); check its name and permissions"
        ) from error
    _no_two_in_one_place(path, (file.parts for file in files), terms)
    return Source(path, path.resolve().name, tuple(files))


def _walk(path: Path, left_out: Callable[[str], bool], most_depth: int) -> Iterator[Path]:
    """Everything below a folder but the folders; links to folders are not followed. Raises OSError."""
    for entry in sorted(os.scandir(path), key=lambda entry: entry.name):
        if left_out(entry.name):
            continue
        if entry.is_dir(follow_symlinks=False):
            if most_depth == 1:
                raise UnpackingError(
                    f"{entry.path}: folders in folders, too deep; put its files further up, then add the folder again"
                )
            yield from _walk(Path(entry.path), left_out, most_depth - 1)
        else:
            yield Path(entry.path)


@dataclass(frozen=True, slots=True)
class _Copied:
    path: Path

    def __call__(self) -> Iterator[bytes]:
        try:
            # A file that has become a link, or a pipe, since it was looked at is not followed, nor waited for.
            with open(self.path, "rb", opener=_not_followed) as content:
                while piece := content.read(PIECE_BYTES):
                    yield piece
        except OSError as error:
            raise UnpackingError(
                f"{self.path}: it can't be read ({error.strerror}); check its name and permissions"
            ) from error


def _not_followed(path: str, flags: int) -> int:
    return os.open(path, flags | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)


def _no_two_in_one_place(path: Path, places: Iterable[Parts], terms: Terms) -> None:
    """Refuse a file that is there twice, or is a folder too; capitals don't count, as on some systems' disks."""
    files: set[Parts] = set()
    folders: set[Parts] = set()
    for parts in places:
        folded = tuple(part.casefold() for part in parts)
        above = {folded[:length] for length in range(1, len(folded))}
        if folded in files or folded in folders or above & files:
            raise refused(path, f"two things in it have one name: {shown('/'.join(parts))}", terms)
        files.add(folded)
        folders |= above


def _damaged(path: Path, error: Exception) -> UntrustedError:
    said = error.strerror if isinstance(error, OSError) else str(error)
    return UntrustedError(
        f"{path}: this is no ZIP archive, or a damaged one ({shown(said or 'cut off')[1:-1]}); get it again"
    )
