"""What is never installed: archives and folders that climb out, overflow, lie, or are no model."""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Callable
from itertools import repeat
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.model_archives import (
    NAME,
    contents,
    with_entry,
    with_flags,
    with_overlap,
    with_understated_size,
    write_folder,
    write_zip,
    zip_bytes,
)
from voice_trainer.models.errors import ModelError
from voice_trainer.models.installing import install, models_folder_for_writing
from voice_trainer.models.records import Records
from voice_trainer.models.sources import source_at
from voice_trainer.recognition.vosk_folder import MODEL_FILES
from voice_trainer.unpacking.sources import Source, SourceFile, safe_parts


def installed(source: Path, home: Path, name: str = NAME) -> Path:
    with models_folder_for_writing(home / "models"):
        return install(source_at(source), name, home / "models", Records(home), origin=str(source))


def everything_below(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*")}


HOSTILE: dict[str, tuple[Callable[[Path], Path], str]] = {
    "climbs out": (lambda path: with_entry(path, "../../evil"), "climbs out"),
    "climbs out from inside": (lambda path: with_entry(path, f"{NAME}/am/../../../evil"), "climbs out"),
    "absolute": (lambda path: with_entry(path, "/tmp/evil"), "absolute"),
    "a drive": (lambda path: with_entry(path, "C:/evil"), "absolute"),
    "backslashes": (lambda path: with_entry(path, "..\\evil"), "characters"),
    "two lines": (lambda path: with_entry(path, "a\nb\x1b[31m"), "characters"),
    "a link": (lambda path: with_entry(path, f"{NAME}/ln", b"/etc/passwd", stat.S_IFLNK | 0o777), "a link"),
    "a device": (lambda path: with_entry(path, f"{NAME}/dev", b"", stat.S_IFCHR | 0o666), "a device"),
    "a second file": (lambda path: with_entry(path, f"{NAME}/AM/Final.mdl"), "one name"),
    "a file that is a folder": (lambda path: with_entry(path, f"{NAME}/am"), "one name"),
    "a folder that is a file": (lambda path: with_entry(path, f"{NAME}/am/final.mdl/x"), "one name"),
    "encrypted": (lambda path: with_flags(path, 0x1), "encrypted"),
    "too many files": (
        lambda path: write_zip(path, contents() | {f"f{n}": b"" for n in range(1_000)}),
        "1005 files",
    ),
    "a bomb": (lambda path: write_zip(path, contents() | {"zeros": bytes(30_000_000)}), "30.0 MB"),
    "an overlap": (with_overlap, "overlap"),
    "an understated size": (with_understated_size, "damaged"),
    "two models": (
        lambda path: write_zip(path, {f"{n}/{name}": c for n in "ab" for name, c in contents().items()}),
        "2 models",
    ),
    "no archive": (lambda path: path.write_text("hello") and path, "no ZIP archive"),
    "empty": (lambda path: path.touch() or path, "no ZIP archive"),
}


@pytest.mark.parametrize(("make", "says"), HOSTILE.values(), ids=HOSTILE)
def test_an_archive_that_is_not_to_be_trusted_leaves_nothing(
    make: Callable[[Path], Path], says: str, tmp_path: Path
) -> None:
    archive = make(tmp_path / "hostile.zip")
    with pytest.raises(ModelError, match=says) as refusal:
        installed(archive, tmp_path / "home")
    assert str(refusal.value).startswith(f"{archive}: ")
    assert str(refusal.value).isprintable()
    assert everything_below(tmp_path) <= {"hostile.zip", "home", "home/models", "home/models/.lock"}


def test_what_really_comes_is_counted_whatever_was_stated(tmp_path: Path) -> None:
    endless = SourceFile(("am", "final.mdl"), 10, lambda: repeat(bytes(1_000_000)))
    source = Source(tmp_path / "small.zip", NAME, (endless,), packed_bytes=1_000)
    with (
        models_folder_for_writing(tmp_path / "models"),
        pytest.raises(ModelError, match=r"would become 11.0 MB or more out of 1.0 kB"),
    ):
        install(source, NAME, tmp_path / "models", Records(tmp_path), origin="test")
    assert everything_below(tmp_path) == {"models", "models/.lock"}


@pytest.mark.parametrize("missing", MODEL_FILES)
def test_what_is_no_model_is_refused(missing: str, tmp_path: Path) -> None:
    files = {name: content for name, content in contents().items() if name != missing}
    for source in (write_zip(tmp_path / "a.zip", files), write_folder(tmp_path / "a", files)):
        with pytest.raises(ModelError, match=f"no Vosk model that can be used: {missing} is missing"):
            installed(source, tmp_path / "home")


@pytest.mark.parametrize("top", ["", NAME, f"a/b/{NAME}"])
def test_the_model_is_found_wherever_it_is_in_the_archive(top: str, tmp_path: Path) -> None:
    archive = write_zip(tmp_path / f"{NAME}.zip", top=top)
    assert source_at(archive).own_name == NAME
    place = installed(archive, tmp_path / "home")
    files = {p.relative_to(place).as_posix(): p.read_bytes() for p in place.rglob("*") if p.is_file()}
    assert files == contents()


def test_what_lies_beside_the_model_is_left_out(tmp_path: Path) -> None:
    place = installed(with_entry(tmp_path / "a.zip", "__MACOSX/._README"), tmp_path / "home")
    assert sorted(path.name for path in place.iterdir()) == ["am", "conf", "graph"]


@pytest.mark.parametrize("kind", ["a link", "a link to a folder", "a pipe"])
def test_a_folder_with_what_is_no_file_is_refused(kind: str, tmp_path: Path) -> None:
    folder = write_folder(tmp_path / NAME)
    odd = folder / "conf" / "odd"
    if kind == "a pipe":
        os.mkfifo(odd)
    else:
        odd.symlink_to("/etc/passwd" if kind == "a link" else "..")
    with pytest.raises(ModelError, match="odd"):
        installed(folder, tmp_path / "home")
    assert everything_below(tmp_path / "home") <= {"models", "models/.lock"}


@given(st.text(alphabet=st.sampled_from("a./\\:C\0\n é~-"), max_size=12))
def test_no_name_means_a_place_outside(name: str) -> None:
    try:
        parts = safe_parts(name)
    except ValueError:
        return
    top = Path("/top/models/model")
    place = Path(os.path.normpath(top.joinpath(*parts)))
    assert place.is_relative_to(top)
    assert place != top
    assert "/".join(parts) == name.removesuffix("/")


@settings(max_examples=60)
@given(st.data())
def test_a_damaged_archive_is_installed_right_or_not_at_all(data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "home"
        packed = bytearray(zip_bytes(Path(folder)))
        for _ in range(data.draw(st.integers(1, 4))):
            packed[data.draw(st.integers(0, len(packed) - 1))] = data.draw(st.integers(0, 255))
        archive = Path(folder) / "damaged.zip"
        archive.write_bytes(packed[: data.draw(st.integers(0, len(packed)))])
        try:
            place = installed(archive, home)
        except ModelError as error:
            assert str(error).isprintable()
            assert everything_below(home) <= {"models", "models/.lock"}
        else:
            kept = {p.relative_to(place).as_posix(): p.read_bytes() for p in place.rglob("*") if p.is_file()}
            known = contents()
            assert set(MODEL_FILES) <= set(kept)
            assert all(content in known.values() for content in kept.values())
