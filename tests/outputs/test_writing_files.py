"""Files where somebody said: over what they are written, and what is left when a disk refuses them."""

from __future__ import annotations

import errno
import os
import resource
import stat
import tempfile
from pathlib import Path

import pytest

from voice_trainer.outputs.checking import check_output
from voice_trainer.outputs.errors import OutputError
from voice_trainer.outputs.kinds import CARD_PAGE, CARD_PDF, DEBRIEF_PAGE, DRILL, TRACK, Kind
from voice_trainer.outputs.refusals import advice_for
from voice_trainer.outputs.writing import write_new_files, write_output, write_whole

OURS = '<meta name="generator" content="voice_trainer card">'


def refused(path: Path, kind: Kind, option: str = "--html") -> str:
    with pytest.raises(OutputError) as caught:
        check_output(option, path, kind)
    line = str(caught.value)
    assert line.startswith(f"{option}: ")
    assert "\n" not in line
    return line


def test_an_older_one_of_the_kind_is_written_anew_and_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "card.html"
    write_output("--html", path, CARD_PAGE, OURS + "1")
    write_output("--html", path, CARD_PAGE, OURS + "2")
    assert path.read_text() == OURS + "2"
    for content in (b"", b"my own page", b'content="voice_trainer debrief"', OURS.encode("utf-16")):
        path.write_bytes(content)
        with pytest.raises(OutputError, match="is there already and no card of an approach; name another"):
            write_output("--html", path, CARD_PAGE, OURS)
        assert path.read_bytes() == content
    assert list(tmp_path.iterdir()) == [path]


def test_what_its_owner_may_have_changed_is_never_written_over(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    write_output("--out", path, DRILL, "a drill")
    with pytest.raises(OutputError, match=r"mine.yaml is there already; name another file, or move it away"):
        write_output("--out", path, DRILL, "another")
    with pytest.raises(FileExistsError):  # it came between the look and the writing
        write_whole(path, b"another", over=False)
    assert path.read_text() == "a drill"
    assert list(tmp_path.iterdir()) == [path]


def test_a_mark_is_found_at_the_end_of_a_large_file_too(tmp_path: Path) -> None:
    path = tmp_path / "old.m4a"
    path.write_bytes(bytes(1 << 20) + b"Study aid only. Current charts, local procedures" + bytes(1 << 16))
    check_output("--out", path, TRACK)
    path.write_bytes(bytes(1 << 20))
    assert "no track of ours" in refused(path, TRACK, "--out")


def test_a_place_where_nothing_can_be_is_told_by_what_is_wrong_with_it(tmp_path: Path) -> None:
    (tmp_path / "folder.html").mkdir()
    (tmp_path / "file").write_text("")
    os.mkfifo(tmp_path / "pipe.html")
    (tmp_path / "round.html").symlink_to(tmp_path / "round.html")
    assert "folder.html is a folder; name a file in it" in refused(tmp_path / "folder.html", CARD_PAGE)
    assert "pipe.html is no file; name one" in refused(tmp_path / "pipe.html", CARD_PAGE)
    assert "there is no folder" in refused(tmp_path / "no" / "a.html", CARD_PAGE)
    assert "there is no folder" in refused(tmp_path / "file" / "a.html", CARD_PAGE)
    assert "give it a shorter name" in refused(tmp_path / f"{'x' * 300}.html", CARD_PAGE)
    assert "circle" in refused(tmp_path / "round.html", CARD_PAGE)
    assert "does not end in .pdf; name a file such as card.pdf" in refused(tmp_path / "a.html", CARD_PDF)
    assert "'\\x1b" in refused(Path("\x1b[2Jcard"), CARD_PDF)


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become somebody without rights")
def test_without_rights_it_is_said_before_any_work_and_what_cannot_be_read_is_not_ours(
    tmp_path: Path,
) -> None:
    (tmp_path / "locked").mkdir(mode=0o755)
    (tmp_path / "open").mkdir(mode=0o777)
    (tmp_path / "open").chmod(0o777)
    secret = tmp_path / "open" / "secret.html"
    secret.write_text(OURS)
    secret.chmod(0o600)
    # Whoever has no rights has to get here at all: pytest's folders are its user's own.
    for folder in (tmp_path, *tmp_path.parents):
        if folder == Path(tempfile.gettempdir()):
            break
        folder.chmod(0o755)
    os.seteuid(65534)
    try:
        assert "nothing can be written into" in refused(tmp_path / "locked" / "a.html", CARD_PAGE)
        assert "no card of an approach" in refused(secret, CARD_PAGE)
        with pytest.raises(PermissionError):
            write_whole(tmp_path / "locked" / "a.html", b"")
    finally:
        os.seteuid(0)
    assert secret.read_text() == OURS


def test_through_a_link_its_target_is_written(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    link = tmp_path / "card.html"
    link.symlink_to(tmp_path / "far" / "real.html")
    write_output("--html", link, CARD_PAGE, OURS)
    write_output("--html", link, CARD_PAGE, OURS + "2")
    assert link.is_symlink()
    assert (tmp_path / "far" / "real.html").read_text() == OURS + "2"


def test_a_page_of_what_a_student_did_is_for_its_owner_alone(tmp_path: Path) -> None:
    write_output("--html", tmp_path / "a.html", DEBRIEF_PAGE, "")
    assert stat.S_IMODE((tmp_path / "a.html").stat().st_mode) == 0o600


@pytest.fixture
def small_files() -> object:
    """No file may become larger than 1000 bytes: a refusal of the kernel itself (setrlimit(2), EFBIG)."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, hard))
    yield None
    resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.mark.usefixtures("small_files")
def test_what_was_there_stays_and_no_half_file_where_the_disk_refuses(tmp_path: Path) -> None:
    path = tmp_path / "card.html"
    write_output("--html", path, CARD_PAGE, OURS)
    with pytest.raises(OutputError, match=r"card.html: can't be written \(file too large\); .*make room"):
        write_output("--html", path, CARD_PAGE, OURS * 100)
    assert path.read_text() == OURS
    with pytest.raises(OutputError, match=r"two.yaml: can't be written .*, so nothing was"):
        write_new_files(tmp_path / "a" / "b", {"one.yaml": "1", "c/two.yaml": "2" * 2000})
    assert list(tmp_path.iterdir()) == [path]


def test_of_several_files_none_is_written_where_one_is_there(tmp_path: Path) -> None:
    (tmp_path / "two.yaml").write_text("mine")
    with pytest.raises(OutputError, match=r"two.yaml is there already; nothing was written"):
        write_new_files(tmp_path, {"one.yaml": "1", "two.yaml": "2"})
    assert [each.name for each in tmp_path.iterdir()] == ["two.yaml"]
    assert write_new_files(tmp_path / "new", {"a/one.yaml": "1"}) == [tmp_path / "new" / "a" / "one.yaml"]


def test_every_refusal_has_advice_of_its_own() -> None:
    kinds = (errno.ENOENT, errno.EACCES, errno.EISDIR, errno.ENOSPC, errno.EROFS, errno.EFBIG, errno.EDQUOT)
    said = [advice_for(OSError(number, "")) for number in kinds]
    assert len(set(said)) == len(kinds)
    assert advice_for(OSError(errno.EBUSY, "")) not in said
