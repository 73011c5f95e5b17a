"""What of a pack is installed: all of it or nothing, and never anything outside its folder."""

from __future__ import annotations

import os
import stat
import tempfile
import warnings
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.model_archives import with_entry, with_flags, with_overlap
from tests.pack_sources import HOUSE, NAME, drill, pack, pack_folder, pack_zip
from voice_trainer.library.packs import Packs
from voice_trainer.packs.installing import FaultyPackError, add_pack, remove_pack
from voice_trainer.unpacking.errors import UnpackingError


def everything_in(folder: Path) -> dict[str, bytes | str]:
    """What lies below a folder: content of files, targets of links, by path; lock files are left out."""
    return {
        path.relative_to(folder).as_posix(): str(path.readlink())
        if path.is_symlink()
        else path.read_bytes()
        if path.is_file()
        else "folder"
        for path in folder.rglob("*")
        if path.name != ".lock"
    }


def entry(name: str, content: bytes = b"x", mode: int = stat.S_IFREG | 0o644) -> Callable[[Path], Path]:
    return lambda path: with_entry(path, name, content, mode, pack_zip)


def three_files(path: Path) -> Path:
    return pack_zip(path, pack() | {"README.md": b"Read me."})


def cut(path: Path) -> Path:
    whole = pack_zip(path).read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    return path


HOSTILE: dict[str, tuple[Callable[[Path], Path], str]] = {
    "climbs out": (entry("../../evil.yaml"), "climbs out"),
    "climbs out from inside": (entry(f"{NAME}/../../evil.yaml"), "climbs out"),
    "climbs out where it would be left out": (entry(".git/../../evil"), "climbs out"),
    "absolute": (entry("/tmp/evil.yaml"), "absolute"),
    "a drive": (entry("C:/evil.yaml"), "absolute"),
    "backslashes": (entry("..\\evil.yaml"), "characters"),
    "a line feed": (entry(f"{NAME}/a\nb.yaml"), "characters"),
    "an escape sequence": (entry(f"{NAME}/\x1b[31m.yaml"), "characters"),
    "written from right to left": (entry(f"{NAME}/\u202elmay.yaml"), "characters"),
    "letters of another script": (entry(f"{NAME}/\u05d0.yaml"), "small letters"),
    "a link": (entry(f"{NAME}/ln.yaml", b"/etc/passwd", stat.S_IFLNK | 0o777), "a link"),
    "a pipe": (entry(f"{NAME}/p.yaml", b"", stat.S_IFIFO | 0o666), "a device"),
    "a name twice": (entry(f"{NAME}/pack.yaml"), "one name"),
    "a name in capitals": (entry(f"{NAME}/Gull-Order.yaml"), "one name"),
    "a folder in it": (entry(f"{NAME}/more/a.yaml"), "deeper"),
    "a program": (entry(f"{NAME}/setup.py"), "a pack holds"),
    "deep": (entry("/".join("abcdefghi")), "too deep"),
    "encrypted": (lambda path: with_flags(path, 0x1, pack_zip), "encrypted"),
    "an overlap": (lambda path: with_overlap(path, three_files), "overlap"),
    "a bomb": (lambda path: pack_zip(path, pack() | {"a.txt": bytes(3_000_000)}), "would become 3.0 MB"),
    "many files": (lambda path: pack_zip(path, pack() | {f"{n}.txt": b"" for n in range(300)}), "302 files"),
    "two packs": (entry("other/pack.yaml"), "2 packs"),
    "no pack": (lambda path: pack_zip(path, {"gear.yaml": drill()}), "there is no pack.yaml"),
    "cut off": (cut, "no ZIP archive"),
    "no archive": (lambda path: path.write_text("hello") and path, "no ZIP archive"),
}


@pytest.mark.parametrize(("make", "says"), HOSTILE.values(), ids=HOSTILE)
def test_a_hostile_archive_leaves_nothing(make: Callable[[Path], Path], says: str, tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    archive = make(tmp_path / "a" / "hostile.zip")
    before = everything_in(tmp_path)
    with pytest.raises(UnpackingError, match=says) as refusal:
        add_pack(archive, tmp_path / "a" / "home" / "packs")
    assert str(refusal.value).startswith(f"{archive}: ")
    assert str(refusal.value).isprintable()
    after = everything_in(tmp_path)
    assert {name: after[name] for name in after if name not in ("a/home", "a/home/packs")} == before


def test_an_archive_too_large_is_not_even_opened(tmp_path: Path) -> None:
    archive = tmp_path / "large.zip"
    with archive.open("wb") as file:
        file.truncate(5_000_000)
    with pytest.raises(UnpackingError, match=r"it has 5\.0 MB, and a pack no more than 2\.0 MB"):
        add_pack(archive, tmp_path / "packs")


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda path: (path / "a.yaml").symlink_to("/etc/passwd"), "a link"),
        (lambda path: (path / "a").symlink_to(".."), "a link"),
        (lambda path: os.mkfifo(path / "a.yaml"), "no ordinary file"),
        (lambda path: (path / "a\n.yaml").touch(), "characters"),
        (lambda path: (path / "Pack.yaml").touch(), "one name"),
    ],
    ids=["a link", "a link to a folder", "a pipe", "a line feed", "a name in capitals"],
)
def test_a_hostile_folder_leaves_nothing(make: Callable[[Path], object], says: str, tmp_path: Path) -> None:
    folder = pack_folder(tmp_path / NAME)
    make(folder)
    with pytest.raises(UnpackingError, match=says):
        add_pack(folder, tmp_path / "packs")
    assert not (tmp_path / "packs").exists()


PARTS = st.one_of(
    st.sampled_from(
        ["..", ".", "", "pack.yaml", NAME, "a.yaml", "A.YAML", "C:", "~", "con", "a.txt", ".git"]
    ),
    st.text(alphabet="a./\\:\0\n\u202e\u00e9 -", max_size=6),
)
KINDS = st.sampled_from([0, stat.S_IFREG | 0o755, stat.S_IFLNK | 0o777, stat.S_IFDIR | 0o755, stat.S_IFIFO])


@settings(max_examples=80)
@given(
    st.lists(st.tuples(st.lists(PARTS, min_size=1, max_size=4).map("/".join), KINDS), min_size=1, max_size=3)
)
def test_whatever_its_members_are_called_nothing_outside_the_pack_changes(
    members: list[tuple[str, int]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        top = Path(folder)
        packs_folder = top / "a" / "b" / "packs"
        pack_folder(packs_folder / "kept", {"pack.yaml": b"kept"})
        archive = pack_zip(top / "a" / "hostile.zip")
        with zipfile.ZipFile(archive, "a") as opened, warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of names that come twice
            for name, mode in members:
                info = zipfile.ZipInfo("placeholder")
                info.filename = info.orig_filename = name
                info.external_attr = mode << 16
                opened.writestr(info, "../../../evil")
        before = everything_in(top)
        try:
            add_pack(archive, packs_folder)
        except UnpackingError as error:
            assert str(error).isprintable()
            assert everything_in(top) == before
            return
        after = everything_in(top)
        inside = f"a/b/packs/{NAME}"
        outside = {
            name: content for name, content in after.items() if not f"{name}/".startswith(f"{inside}/")
        }
        assert outside == before
        assert {name.removeprefix(inside) for name in after.keys() - outside.keys()} <= {
            "", "/pack.yaml", "/gull-order.yaml", "/a.txt",
        }  # fmt: skip


def test_a_pack_is_installed_as_it_is_wherever_it_lies_in_its_archive(tmp_path: Path) -> None:
    files = pack() | {"README.md": b"Read me.", "LICENSE": b"Do."}
    for number, top in enumerate(("", NAME, f"a/b/{NAME}")):
        archive = pack_zip(tmp_path / f"{number}.zip", files, top)
        with zipfile.ZipFile(archive, "a") as opened:
            opened.writestr("__MACOSX/._pack.yaml", "x")
            opened.writestr(".DS_Store", "x")
        packs_folder = tmp_path / str(number)
        added = add_pack(archive, packs_folder)
        assert added.pack.folder == packs_folder / NAME
        assert {path.name: path.read_bytes() for path in added.pack.folder.iterdir()} == files


def test_nothing_that_is_installed_can_be_executed_and_hidden_files_stay_out(tmp_path: Path) -> None:
    folder = pack_folder(tmp_path / NAME)
    for path in folder.iterdir():
        path.chmod(0o755)
    (folder / ".git").mkdir()
    (folder / ".git" / "hook").symlink_to("/etc/passwd")
    place = add_pack(folder, tmp_path / "packs").pack.folder
    assert sorted(path.name for path in place.iterdir()) == ["gull-order.yaml", "pack.yaml"]
    assert all(path.stat().st_mode & 0o111 == 0 for path in place.iterdir())


def test_a_faulty_pack_is_refused_with_all_that_was_found(tmp_path: Path) -> None:
    files = pack({"gear.yaml": drill().replace(b"kind", b"knid"), "house.yaml": b"huose: x\n"})
    for source in (pack_zip(tmp_path / "a.zip", files), pack_folder(tmp_path / "a", files)):
        with pytest.raises(FaultyPackError, match="errors were found in it") as refusal:
            add_pack(source, tmp_path / "packs")
        said = [str(finding) for finding in refusal.value.findings]
        assert any(line.startswith(f"{source}/gear.yaml:3:1: error: unknown key 'knid'") for line in said)
        assert any(line.startswith(f"{source}/house.yaml:1:1: error: unknown key 'huose'") for line in said)
        assert everything_in(tmp_path / "packs") == {}


def test_a_second_pack_of_a_name_is_refused_and_the_first_stays(tmp_path: Path) -> None:
    packs_folder = tmp_path / "packs"
    add_pack(pack_folder(tmp_path / "one"), packs_folder)
    before = everything_in(packs_folder)
    other = pack_folder(tmp_path / "two", pack({"gear.yaml": drill()}))
    with pytest.raises(UnpackingError, match=r"installed, version 2\.1; .*packs remove gull-school"):
        add_pack(other, packs_folder)
    assert everything_in(packs_folder) == before


def test_what_a_killed_installation_left_is_no_pack_and_is_cleared_away(tmp_path: Path) -> None:
    packs_folder = tmp_path / "packs"
    pack_folder(packs_folder / ".unfinished-abc")
    assert Packs(packs_folder).all == ()
    add_pack(pack_folder(tmp_path / NAME), packs_folder)
    assert [path.name for path in packs_folder.iterdir() if path.name != ".lock"] == [NAME]


def test_removing_takes_away_one_pack_and_nothing_else(tmp_path: Path) -> None:
    packs_folder = tmp_path / "packs"
    files = pack({"gear.yaml": drill(), "house.yaml": HOUSE.encode()})
    place = add_pack(pack_folder(tmp_path / NAME, files), packs_folder).pack.folder
    (packs_folder / "linked").symlink_to(tmp_path / NAME)
    (packs_folder / "kept").mkdir()
    for name in ("../packs", "..", "", ".", "linked", "nonesuch", "kept/..", ".lock"):
        with pytest.raises(UnpackingError):
            remove_pack(name, packs_folder)
    assert remove_pack(NAME, packs_folder) == place
    assert {path.name for path in packs_folder.iterdir()} == {".lock", "linked", "kept"}
    assert (tmp_path / NAME / "pack.yaml").is_file()
