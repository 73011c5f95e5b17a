"""`models`: a model is there whole or not at all, and stays what it was when it was first fetched."""

from __future__ import annotations

import fcntl
import json
import os
import pty
import re
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.commands import one_line_of_trouble, voice_trainer
from tests.file_server import FileServer
from tests.model_archives import NAME, contents, with_entry, write_folder, write_zip, zip_bytes
from voice_trainer.models.published import published_models
from voice_trainer.recognition.choosing import engines

LOCAL = {"NO_PROXY": "127.0.0.1", "no_proxy": "127.0.0.1"}
MODEL_BYTES = 400_000
REPOSITORY = Path(__file__).parents[2]


def models(*arguments: str | Path, home: Path) -> subprocess.CompletedProcess[str]:
    return voice_trainer("models", *arguments, home=home, env=LOCAL)


def fetch(server: FileServer, home: Path) -> subprocess.CompletedProcess[str]:
    return models("fetch", NAME, "--from", server.url, home=home)


def kept(home: Path) -> dict[str, bytes]:
    """Every file below `home`, but for lock files."""
    return {
        path.relative_to(home).as_posix(): path.read_bytes()
        for path in home.rglob("*")
        if path.is_file() and path.name != ".lock"
    }


def installed(home: Path, name: str = NAME) -> dict[str, bytes]:
    start = f"models/{name}/"
    return {path.removeprefix(start): c for path, c in kept(home).items() if path.startswith(start)}


@pytest.fixture
def archive(tmp_path: Path) -> bytes:
    return zip_bytes(tmp_path, contents(MODEL_BYTES))


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


def test_the_list_names_what_can_be_fetched_and_fetches_nothing(home: Path) -> None:
    done = models(home=home)
    assert done.returncode == 0
    for text in ("none;", NAME, "Alpha Cephei", "about 40 MB", "Apache-2.0", f"models fetch {NAME}"):
        assert text in done.stdout
    assert not home.exists()


def test_the_models_readme_says_what_the_manifest_says() -> None:
    text = (REPOSITORY / "models" / "README.md").read_text(encoding="utf-8")
    rows = {
        tuple(cell.strip(" `") for cell in row.split("|")[1:-1])
        for row in re.findall(r"^\| `.*$", text, re.M)
    }
    assert rows == {
        (m.name, m.publisher, f"about {m.about_megabytes} MB", m.licence) for m in published_models()
    }


def test_a_model_is_fetched_recorded_listed_and_found(archive: bytes, home: Path) -> None:
    with FileServer(archive) as server:
        done = fetch(server, home)
        again = fetch(server, home)
    assert (done.returncode, done.stderr) == (0, "")
    assert "recorded; it is checked from now on" in done.stdout
    assert installed(home) == contents(MODEL_BYTES)
    assert set(kept(home)) == {"models.json", *(f"models/{NAME}/{file}" for file in contents())}
    (sha256,) = re.findall(r"SHA-256 (\w{64})", done.stdout)
    assert json.loads((home / "models.json").read_text())["archives"][NAME]["sha256"] == sha256
    assert (again.returncode, len(server.requests)) == (0, 1)
    assert "installed already" in again.stdout
    assert "as it was installed; --engine vosk" in models(home=home).stdout
    assert all(engine.usable for engine in engines([home / "models"]) if engine.name == "vosk")


def test_a_cut_connection_is_taken_up_by_the_next_command(archive: bytes, home: Path) -> None:
    with FileServer(archive) as server:
        server.manners.cuts = [200_000, 0]
        line = one_line_of_trouble(fetch(server, home))
        assert re.search(r"127\.0\.0\.1: .*; \d+\.\d kB have arrived and are kept", line)
        assert installed(home) == {}
        done = fetch(server, home)
    assert done.returncode == 0
    assert [("Range" in request) for request in server.requests] == [False, True, True]
    assert installed(home) == contents(MODEL_BYTES)
    assert not [path for path in kept(home) if ".part" in path]


def test_another_archive_of_the_same_name_is_refused_ever_after(
    archive: bytes, home: Path, tmp_path: Path
) -> None:
    with FileServer(archive) as server:
        assert fetch(server, home).returncode == 0
        assert models("remove", NAME, home=home).returncode == 0
        before = kept(home)
        assert set(before) == {"models.json"}
        server.manners.content = zip_bytes(tmp_path, contents(MODEL_BYTES) | {"README": b"changed"})
        line = one_line_of_trouble(fetch(server, home))
        assert "is not the one of" in line
        assert str(home / "models.json") in line
        assert kept(home) == before
        server.manners.content = archive
        assert "the same as when it was first fetched" in fetch(server, home).stdout
    assert installed(home) == contents(MODEL_BYTES)


def test_a_hostile_archive_is_neither_installed_nor_recorded_nor_kept(tmp_path: Path) -> None:
    home = tmp_path / "a" / "b" / "home"
    climbing = with_entry(tmp_path / "climbing.zip", "../../../evil")
    bomb = write_zip(tmp_path / "bomb.zip", contents() | {"zeros": bytes(30_000_000)})
    for hostile, says in ((climbing, "climbs out"), (bomb, "30.0 MB")):
        with FileServer(hostile.read_bytes()) as server:
            assert says in one_line_of_trouble(fetch(server, home))
        assert kept(home) == {}
    assert {path.name for path in tmp_path.iterdir()} == {"a", "climbing.zip", "bomb.zip"}


@pytest.mark.slow
@pytest.mark.parametrize("status", [403, 404, 503])
def test_a_server_that_has_it_not(status: int, home: Path) -> None:
    with FileServer(b"") as server:
        server.manners.status = status
        line = one_line_of_trouble(fetch(server, home))
    assert str(status) in line
    assert "models add" in line


def test_without_a_network(home: Path) -> None:
    with FileServer(b"") as server:
        url = server.url
    line = one_line_of_trouble(models("fetch", NAME, "--from", url, home=home))
    assert line == (
        "voice-trainer: 127.0.0.1: it can't be reached; look after the network, then run the same again"
    )


@pytest.mark.slow
def test_names_and_addresses_that_are_none(home: Path) -> None:
    slip = NAME.replace("small", "smal")
    assert f"did you mean '{NAME}'?" in one_line_of_trouble(models("fetch", slip, home=home))
    plain = one_line_of_trouble(models("fetch", NAME, "--from", "http://nowhere.invalid/a.zip", home=home))
    assert "only https" in plain
    for name in ("../home", "nonesuch", ""):
        one_line_of_trouble(models("remove", name, home=home))
    assert "no such folder" in one_line_of_trouble(models("add", home / "absent.zip", home=home))


# The disk. A limit on the size of a file works everywhere; a small disk needs the right to mount one.


def on_a_small_disk(
    command: list[str], home: Path, most_bytes: int
) -> tuple[subprocess.CompletedProcess[str], list[str]]:
    """Run a command with `home` on a disk of `most_bytes`; also returns the files that are left below `home`.

    Where no disk can be mounted, files may become no larger than that instead.
    """
    home.mkdir()
    left = home.with_name("left")
    mount = f"mount -t tmpfs -o size={most_bytes} tmpfs '{home}'"
    rights = ["unshare", "--mount", *([] if os.geteuid() == 0 else ["--user", "--map-root-user"])]
    if subprocess.run([*rights, "sh", "-c", mount], capture_output=True, check=False).returncode != 0:
        rights, mount = [], f"ulimit -f {most_bytes // 512}"
    script = f"{mount}; \"$@\"; status=$?; cd '{home}'; find . -type f ! -name .lock >'{left}'; exit $status"
    done = subprocess.run(
        [*rights, "sh", "-c", script, "sh", *command],
        env=os.environ | LOCAL | {"VOICE_TRAINER_HOME": str(home), "NO_COLOR": "1"},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    return done, left.read_text().split()


def limited(command: list[str], home: Path, most_bytes: int) -> subprocess.CompletedProcess[str]:
    """Run a command whose files can't become larger than `most_bytes`."""
    return subprocess.run(
        ["sh", "-c", f'ulimit -f {most_bytes // 512}; exec "$@"', "sh", *command],
        env=os.environ | LOCAL | {"VOICE_TRAINER_HOME": str(home)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


PROGRAM = [sys.executable, "-B", "-m", "voice_trainer", "models"]


def test_a_download_that_fills_the_disk_stops_in_one_line(home: Path, tmp_path: Path) -> None:
    with FileServer(zip_bytes(tmp_path, contents(3_000_000))) as server:
        server.manners.states_length = False  # else it is refused before it begins
        done, left = on_a_small_disk([*PROGRAM, "fetch", NAME, "--from", server.url], home, 1 << 20)
    assert "no room" in one_line_of_trouble(done)
    assert all(line.startswith(f"./models/.downloads/{NAME}.zip.part") for line in left)


@pytest.mark.parametrize("kind", ["folder", pytest.param("archive", marks=pytest.mark.slow)])
def test_an_installation_that_fills_the_disk_leaves_nothing(kind: str, home: Path, tmp_path: Path) -> None:
    files = contents(3_000_000)
    source = (
        write_folder(tmp_path / NAME, files) if kind == "folder" else write_zip(tmp_path / "a.zip", files)
    )
    done, left = on_a_small_disk([*PROGRAM, "add", str(source)], home, 1 << 20)
    assert "no room" in one_line_of_trouble(done)
    assert left == []


@pytest.mark.slow
def test_a_disk_that_fills_while_it_is_written_leaves_what_was_fetched(home: Path, tmp_path: Path) -> None:
    # Packed it fits below the limit, unpacked it does not: the download is good, and is not fetched again.
    files = contents(100_000) | {"graph/text": bytes(2_000_000)}
    with FileServer(zip_bytes(tmp_path, files)) as server:
        done = limited([*PROGRAM, "fetch", NAME, "--from", server.url], home, 1 << 20)
        assert "no room for it (File too large)" in one_line_of_trouble(done)
        assert installed(home) == {}
        assert "models.json" not in kept(home)
        assert fetch(server, home).returncode == 0
    assert len(server.requests) == 1
    assert installed(home) == files


@pytest.mark.slow
def test_what_a_killed_installation_left_is_cleared_away(home: Path, tmp_path: Path) -> None:
    write_folder(home / "models" / ".unfinished-abc" / NAME)
    assert models("add", write_zip(tmp_path / "a.zip"), home=home).returncode == 0
    assert set(kept(home)) == {"models.json", *(f"models/{NAME}/{file}" for file in contents())}


@pytest.mark.slow
def test_two_at_once_do_not_meet(home: Path, tmp_path: Path) -> None:
    (home / "models").mkdir(parents=True)
    with (home / "models" / ".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        line = one_line_of_trouble(models("add", write_zip(tmp_path / "a.zip"), home=home))
    assert "another voice_trainer is installing" in line
    assert kept(home) == {}


@pytest.mark.slow
def test_a_folder_is_added_under_its_name_or_another_and_removed(home: Path, tmp_path: Path) -> None:
    source = write_folder(tmp_path / "my-model")
    done = models("add", source, home=home)
    assert (done.returncode, done.stderr) == (0, "")
    assert "not for English by its name: --engine vosk:my-model" in done.stdout
    assert models("add", source, "--name", "my-en-model", home=home).returncode == 0
    assert installed(home, "my-model") == installed(home, "my-en-model") == contents()
    twice = one_line_of_trouble(models("add", source, home=home))
    assert "models remove my-model" in twice
    assert "--name" in one_line_of_trouble(models("add", source, "--name", "../x", home=home))
    assert models("remove", "my-model", home=home).returncode == 0
    assert installed(home, "my-model") == {}
    assert installed(home, "my-en-model") == contents()
    assert source.is_dir()


@pytest.mark.slow
def test_what_was_put_there_by_hand_is_listed_and_not_removed(home: Path) -> None:
    write_folder(home / "models" / NAME)
    write_folder(
        home / "models" / "large", {"am/final.mdl": b"", "conf/model.conf": b"", "graph/HCLG.fst": b""}
    )
    listed = models(home=home).stdout
    assert "put there by hand: no checksum is known; --engine vosk\n" in listed
    assert "no Vosk model that can be used: graph/HCLr.fst is missing" in listed
    assert "delete it yourself" in one_line_of_trouble(models("remove", NAME, home=home))
    assert installed(home) == contents()


@pytest.mark.slow
@pytest.mark.parametrize("change", ["same size", "longer", "a file more", "a file less"])
def test_a_model_that_has_changed_is_not_used(change: str, home: Path, tmp_path: Path) -> None:
    assert models("add", write_folder(tmp_path / NAME), home=home).returncode == 0
    file = home / "models" / NAME / "conf" / "mfcc.conf"
    match change:
        case "same size":
            file.write_bytes(bytes(len(file.read_bytes())))
        case "longer":
            file.write_bytes(file.read_bytes() + b"x")
        case "a file more":
            file.with_name("more.conf").write_bytes(b"")
        case "a file less":
            file.unlink()
    sound = tmp_path / "a.wav"
    soundfile.write(sound, np.zeros(16_000), 16_000)
    heard = voice_trainer("hear", sound, "--expect", "gear down", "--engine", "vosk", home=home)
    assert "is not what was installed" in one_line_of_trouble(heard)
    listed = models(home=home).stdout
    # The list looks at sizes only; the doctor and whoever loads the model read all of it.
    assert ("not what was installed" in listed) == (change != "same size")
    if change == "same size":
        doctor = voice_trainer("doctor", "--no-audio", "--drill", "brannock-clearance", home=home)
        assert doctor.returncode == 1
        assert f"!!  model {NAME}: not what was installed: its content has changed" in doctor.stdout
    assert models("remove", NAME, home=home).returncode == 0


@pytest.mark.slow
def test_a_damaged_record_is_not_forgotten_in_silence(home: Path, tmp_path: Path) -> None:
    home.mkdir()
    (home / "models.json").write_text('{"archives": []}')
    source = write_folder(tmp_path / NAME)
    for arguments in ((), ("add", source), ("fetch", NAME), ("remove", NAME)):
        assert "models.json: the record of models is damaged" in one_line_of_trouble(
            models(*arguments, home=home)
        )
    assert set(kept(home)) == {"models.json"}


@pytest.mark.slow
def test_into_the_checkout_that_the_program_runs_from(tmp_path: Path) -> None:
    checkout, home = tmp_path / "checkout", tmp_path / "home"
    checkout.mkdir()
    shutil.copytree(
        REPOSITORY / "voice_trainer", checkout / "voice_trainer", ignore=shutil.ignore_patterns("__pycache__")
    )
    shutil.copy(REPOSITORY / "pyproject.toml", checkout)
    source = write_folder(tmp_path / NAME)
    environment = os.environ | {"VOICE_TRAINER_HOME": str(home), "PYTHONPATH": str(checkout)}
    done = subprocess.run(
        [*PROGRAM, "add", source, "--in-checkout"], cwd=checkout, env=environment, check=False, timeout=60
    )
    assert done.returncode == 0
    assert (checkout / "models" / NAME / "am" / "final.mdl").is_file()
    assert installed(home) == {}


def on_a_terminal(server: FileServer, home: Path, **environment: str) -> str:
    """What a terminal shows on standard error while a model is fetched."""
    ours, theirs = pty.openpty()
    variables = {key: value for key, value in os.environ.items() if key != "NO_COLOR"} | LOCAL | environment
    running = subprocess.Popen(
        [*PROGRAM, "fetch", NAME, "--from", server.url],
        env=variables | {"VOICE_TRAINER_HOME": str(home), "TERM": "xterm-256color", "COLUMNS": "100"},
        stdout=subprocess.DEVNULL,
        stderr=theirs,
    )
    os.close(theirs)
    shown = b""
    try:
        while piece := os.read(ours, 4096):
            shown += piece
    except OSError:
        pass  # the other end is closed: Linux says EIO
    os.close(ours)
    assert running.wait(timeout=60) == 0
    return shown.decode()


@pytest.mark.slow
def test_a_bar_on_a_terminal_without_colour_where_none_is_wanted(archive: bytes, tmp_path: Path) -> None:
    with FileServer(archive) as server:
        coloured = on_a_terminal(server, tmp_path / "one")
        plain = on_a_terminal(server, tmp_path / "two", NO_COLOR="1")
    colour = re.compile(r"\x1b\[[\d;]*3[\d;]*m")
    for shown in (coloured, plain):
        assert NAME in shown
        assert re.search(r"(\d+\.\d)/\1 kB", shown)
    assert colour.search(coloured)
    assert not colour.search(plain)


def test_the_programs_own_model_is_not_listed_as_installed_and_not_removed(home: Path) -> None:
    own = REPOSITORY / "models" / "phraseology-en"
    assert own.is_dir()
    assert own.name not in models(home=home).stdout
    assert "comes with the program" in one_line_of_trouble(models("remove", own.name, home=home))
    assert own.is_dir()
