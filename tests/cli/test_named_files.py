"""Every option that names a file to write: somebody's drill stays what it was, and a full disk leaves nothing half."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from tests.outputs.small_disk import may_mount, on_a_small_disk, with_small_files

DRILL = "drill: mine\n# a winter's work\n"
CARD = ("plan", "kelda-vor-15")
TYPED = ("run", "kelda-outbound", "--input", "typed")
TRACK = ("track", "engine-failure")

OVER_ANOTHER = (
    ((*CARD, "--html"), "mine.html"),
    ((*CARD, "--pdf"), "mine.pdf"),
    ((*TRACK, "--out"), "mine.mp3"),
    ((*TRACK, "--out", "new.mp3", "--segments"), "mine.json"),
    (("debrief", "--html"), "mine.html"),
    (("progress", "--html"), "mine.html"),
    ((*TYPED, "--report"), "mine.html"),
    ((*TYPED, "--journal"), "mine.jsonl"),
    ((*TYPED, "--record"), "mine.wav"),
    ((*TYPED, "--output"), "mine.wav"),
    (("handsfree", "--output"), "mine.wav"),
    (("listen", "kelda-outbound", "--out"), "mine.wav"),
    (("new", "radio", "mine", "--out"), "mine.yaml"),
    (("schema", "--out"), "mine.json"),
    (("plan", "new"), "mine.yaml"),
    (("packs", "new", "mine", "--out"), "mine.yaml"),
)


@pytest.mark.parametrize(("command", "name"), OVER_ANOTHER)
def test_no_command_writes_over_somebodys_file(command: tuple[str, ...], name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_text(DRILL, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path)
        patch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))
        done = voice_trainer(*command, path, home=tmp_path / "home")
    assert f"{name} is there already" in one_line_of_trouble(done)
    assert path.read_text(encoding="utf-8") == DRILL
    assert [each.name for each in tmp_path.iterdir() if each.name != "home"] == [name]


@pytest.mark.parametrize(
    ("command", "ending"),
    [
        ((*CARD, "--html"), ".html or .htm"),
        ((*CARD, "--pdf"), ".pdf"),
        ((*TRACK, "--out", "new.mp3", "--segments"), ".json"),
        (("new", "radio", "mine", "--out"), ".yaml or .yml"),
        (("schema", "--out"), ".json"),
        (("plan", "new"), ".yaml or .yml"),
    ],
)
def test_a_name_that_ends_in_something_else_is_refused_though_nothing_is_there(
    command: tuple[str, ...], ending: str, tmp_path: Path
) -> None:
    done = voice_trainer(*command, tmp_path / "mine.doc", home=tmp_path / "home")
    assert f"does not end in {ending}; name a file such as" in one_line_of_trouble(done)
    assert not (tmp_path / "mine.doc").exists()


def test_a_card_is_written_over_an_older_card(tmp_path: Path) -> None:
    page, pdf = tmp_path / "card.html", tmp_path / "card.pdf"
    for wind in ("240/18", "100/10"):
        done = voice_trainer(*CARD, "--wind", wind, "--html", page, "--pdf", pdf, home=tmp_path)
        assert (done.returncode, done.stderr) == (0, "")
        assert "100 at 10" in page.read_text(encoding="utf-8") or wind == "240/18"
    other = voice_trainer("plan", "kelda-vor-15", "--html", page, home=tmp_path)
    assert other.returncode == 0


@pytest.mark.parametrize("name", ["card.html", "card.pdf"])
def test_where_files_may_not_become_so_large_nothing_is_left(name: str, tmp_path: Path) -> None:
    option = "--html" if name.endswith("html") else "--pdf"
    command = (*CARD, option, tmp_path / name)
    done = with_small_files(1500, command, {"VOICE_TRAINER_HOME": str(tmp_path / "home")})
    assert f"{name}: can't be written (file too large); files may not become so large there" in (
        one_line_of_trouble(done)
    )
    assert [each.name for each in tmp_path.iterdir() if each.name != "home"] == []


@pytest.mark.skipif(not may_mount(), reason="this machine lets nobody mount a file system of their own")
@pytest.mark.parametrize(
    ("command", "free_bytes"),
    [
        ((*CARD, "--html", "{disk}/card.html"), 4096),
        ((*CARD, "--pdf", "{disk}/card.pdf"), 0),
        (("schema", "--out", "{disk}/drill.json"), 8192),
        (("new", "radio", "mine", "--out", "{disk}/mine.yaml"), 0),
        (("packs", "new", "mine", "--out", "{disk}/mine"), 4096),
        (("guide", "write-a-checklist", "--files", "{disk}/files"), 4096),
        ((*TYPED, "--journal", "{disk}/j.jsonl"), 0),
    ],
)
def test_a_full_disk_keeps_what_it_had_and_gets_no_half_file(
    command: tuple[str, ...], free_bytes: int, tmp_path: Path
) -> None:
    disk, home = tmp_path / "disk", tmp_path / "home"
    disk.mkdir()
    taken = 65536 - free_bytes
    done, left = on_a_small_disk(
        disk,
        [each.format(disk=disk) for each in command],
        {"VOICE_TRAINER_HOME": str(home), "NO_COLOR": "1"},
        before=f"head -c {taken} /dev/zero > {disk}/before",
    )
    line = one_line_of_trouble(done)
    assert "o space left on device" in line
    assert "make room on the disk" in line
    assert left == f"before {taken}\n"
