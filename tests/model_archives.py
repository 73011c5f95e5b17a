"""Folders and archives with the layout of a small Vosk model, and such as nobody should install."""

from __future__ import annotations

import random
import stat
import struct
import warnings
import zipfile
from collections.abc import Callable
from pathlib import Path

from voice_trainer.recognition.vosk_folder import MODEL_FILES

NAME = "vosk-model-small-en-us-0.15"


def contents(size_bytes: int = 1_000) -> dict[str, bytes]:
    """What a model of no use holds, the first file `size_bytes` long; it can't be packed any smaller."""
    noise = random.Random(1)
    return {
        name: noise.randbytes(size_bytes if name == MODEL_FILES[0] else 50)
        for name in (*MODEL_FILES, "conf/mfcc.conf")
    }


def write_folder(folder: Path, files: dict[str, bytes] | None = None) -> Path:
    for name, content in (contents() if files is None else files).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


def write_zip(path: Path, files: dict[str, bytes] | None = None, top: str = NAME) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in (contents() if files is None else files).items():
            archive.writestr(f"{top}/{name}" if top else name, content)
    return path


def zip_bytes(folder: Path, files: dict[str, bytes] | None = None) -> bytes:
    return write_zip(folder / "made.zip", files).read_bytes()


def with_entry(
    path: Path,
    name: str,
    content: bytes = b"x",
    mode: int = stat.S_IFREG | 0o644,
    make: Callable[[Path], Path] = write_zip,
) -> Path:
    """An archive, a model's unless `make` makes another, with one entry more."""
    make(path)
    entry = zipfile.ZipInfo("placeholder")
    entry.filename = entry.orig_filename = name
    entry.external_attr = mode << 16
    entry.compress_type = zipfile.ZIP_DEFLATED
    with zipfile.ZipFile(path, "a") as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a name that comes twice
        archive.writestr(entry, content)
    return path


def with_flags(path: Path, flag_bits: int, make: Callable[[Path], Path] = write_zip) -> Path:
    """An archive whose first entry has these flags, in both of its headers."""
    data = bytearray(make(path).read_bytes())
    central = data.index(b"PK\x01\x02")
    struct.pack_into("<H", data, central + 8, flag_bits)
    struct.pack_into("<H", data, data.index(b"PK\x03\x04") + 6, flag_bits)
    path.write_bytes(data)
    return path


def with_overlap(path: Path, make: Callable[[Path], Path] = write_zip) -> Path:
    """An archive whose entries reach into one another: that is how a small one can hold more than a disk."""
    data = bytearray(make(path).read_bytes())
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        struct.pack_into("<I", data, at + 20, len(data) // 2)
        at = data.find(b"PK\x01\x02", at + 1)
    path.write_bytes(data)
    return path


def with_understated_size(path: Path) -> Path:
    """A model's archive whose largest file is stated to be much smaller than it is."""
    files = contents() | {MODEL_FILES[0]: bytes(5_000_000)}
    data = bytearray(write_zip(path, files).read_bytes())
    struct.pack_into("<I", data, data.index(b"PK\x01\x02") + 24, 1_000)
    struct.pack_into("<I", data, data.index(b"PK\x03\x04") + 22, 1_000)
    path.write_bytes(data)
    return path
