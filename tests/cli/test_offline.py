"""Nothing that is practised, heard or kept leaves this machine, and nothing is left that is not the program's own.

The system calls themselves are looked at (strace), so that it counts for every library and every child process.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.archive.onnxruntime_reports import FILES, FOLDER
from voice_trainer.audio.ports import SAMPLE_RATE_HZ
from voice_trainer.audio.wav import write_wav

SENDING = "connect,sendto,sendmsg,sendmmsg"
INTERNET = re.compile(r"sa_family=AF_INET6?\b")
LOOPBACK = re.compile(r'inet_addr\("127\.[0-9.]+"\)|inet_pton\(AF_INET6, "::1"')
ADDRESSED = re.compile(r"sa_family=(\w+)")

COMMANDS = (
    "run reckon-wind --input student --output none",
    "doctor --no-audio --drill reckon-wind",
    "hear said.wav --expect {heading:310} || test $? = 1",  # 1: another value was heard
    "list",
    "due",
    "regrade",
    "debrief",
)


def calls_outside(script: str, folder: Path, env: dict[str, str]) -> list[str]:
    """Run a shell script in `folder`, and list the system calls, of all its processes, that address another machine."""
    trace = folder / "trace"
    done = subprocess.run(
        ["strace", "-f", "--seccomp-bpf", "-qq", "-e", f"trace={SENDING}", "-o", trace, "sh", "-ec", script],
        cwd=folder,
        env=env,
        capture_output=True,
        text=True,
        check=False,
        timeout=240,
    )
    assert done.returncode == 0, (done.stdout[-2000:], done.stderr[-2000:])
    found = []
    for line in trace.read_text(errors="replace").splitlines():
        families = set(ADDRESSED.findall(line))
        other = "connect(" in line and not families <= {"AF_UNIX", "AF_INET", "AF_INET6"}
        if other or (INTERNET.search(line) and not LOOPBACK.search(line)):
            found.append(line)
    return found


@pytest.fixture
def env(tmp_path: Path) -> dict[str, str]:
    """As after a first log-in: an empty home, and a folder for what runs."""
    own = {
        name: value for name, value in os.environ.items() if not name.startswith(("XDG_", "VOICE_", "ORT_"))
    }
    for name in ("home", "runtime"):
        (tmp_path / name).mkdir(mode=0o700)
    return own | {
        "HOME": str(tmp_path / "home"),
        "XDG_RUNTIME_DIR": str(tmp_path / "runtime"),
        "NO_COLOR": "1",
    }


@pytest.mark.slow
def test_what_sends_is_seen(tmp_path: Path, env: dict[str, str]) -> None:
    """What the other test rests on: each way to address another machine is found, and loopback is none."""
    send = (
        "import socket; s = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)\ntry: {}\nexcept OSError: pass"
    )
    ways = {
        's.connect(("192.0.2.1", 53))': 1,
        's.sendto(b"x", ("192.0.2.1", 53))': 1,
        's.connect(("127.0.0.1", 53))': 0,
    }
    for way, times in ways.items():
        script = f"{sys.executable} -c {shlex.quote(send.format(way))}"
        assert len(calls_outside(script, tmp_path, env)) == times, way


@pytest.mark.slow
def test_nothing_is_sent_and_nothing_of_others_is_left(tmp_path: Path, env: dict[str, str]) -> None:
    subprocess.run(["espeak-ng", "-w", tmp_path / "said.wav", "turn left heading three one zero"], check=True)
    script = "\n".join(f"{sys.executable} -m voice_trainer {command}" for command in COMMANDS)
    assert calls_outside(script, tmp_path, env | {"PYTHONPATH": os.pathsep.join(sys.path)}) == []
    home = tmp_path / "home"
    left = {path.relative_to(home) for path in home.rglob("*") if path.is_file()}
    ours = (Path(".cache/voice_trainer"), Path(".local/share/voice_trainer"))
    assert {each for each in ours if any(path.is_relative_to(each) for path in left)} == {*ours}
    assert [path for path in left if not any(path.is_relative_to(each) for each in ours)] == []


OTHERS = ((*FOLDER, "settings"), (*FOLDER[:2], "deviceid"), (FOLDER[0], "edge", "deviceid"))


def left_after_hearing(home: Path, made: list[Path], cache: Path) -> list[Path]:
    """What is below the cache folder after a recogniser was loaded, of the files that were made before, and others."""
    for path in made:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("made")
    silence = home.parent / "silence.wav"
    write_wav(silence, np.zeros(SAMPLE_RATE_HZ, np.int16))
    done = voice_trainer(
        *("hear", silence, "--expect", "gear down", "--engine", "pocketsphinx"),
        home=home,
        env={"XDG_CACHE_HOME": str(cache)},
    )
    assert (done.returncode, done.stderr) == (1, ""), done.stderr
    return [path for path in cache.rglob("*") if path.is_file()]


def test_what_earlier_versions_let_onnxruntime_keep_is_removed_once(tmp_path: Path) -> None:
    home, cache = tmp_path / "home", tmp_path / "cache"
    folder = cache.joinpath(*FOLDER)
    assert left_after_hearing(home, [folder / name for name in FILES], cache) == []
    assert not (cache / "Microsoft").exists()
    of_another_program = folder / "deviceid"
    assert left_after_hearing(home, [of_another_program], cache) == [of_another_program]


def test_what_others_made_beside_it_stays(tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    others = [cache.joinpath(*parts) for parts in OTHERS]
    report = cache.joinpath(*FOLDER, "deviceid")
    assert {*left_after_hearing(tmp_path / "home", [report, *others], cache)} == {*others}
