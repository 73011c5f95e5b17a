"""A process that has loaded the program, and forks for every command: most of a short command's time is loading.

A command runs as it does in a fresh process: as the main module, with standard streams, environment and folder of its
own, and ends as any process does, save that modules are not taken apart. What is loaded before is modules only, none of
a sound card or a recogniser. Commands with a sound server, and those whose environment changes Python itself, are
started afresh; so are all where VOICE_TRAINER_COLD_TESTS is set.
"""

from __future__ import annotations

import atexit
import contextlib
import gc
import importlib
import json
import os
import pkgutil
import runpy
import signal
import socket
import struct
import subprocess
import sys
import tempfile
import threading
import traceback
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import NoReturn

COLD = "VOICE_TRAINER_COLD_TESTS"
LIVE = "PULSE_SERVER"
"""Where there is a sound server a session keeps time, and each page of a fork is first a copy."""
OF_PYTHON_ITSELF = ("PYTHON", "LC_", "LANG")
NOT_LOADED = ("voice_trainer.cli.tracking",)
"""Modules that bring a native library with threads of its own."""
_STATUS = struct.Struct("i")


def is_usable(env: Mapping[str, str]) -> bool:
    """Whether a command with this environment may run in a fork: nothing of Python's start differs from here."""
    names = [name for name in {*env, *os.environ} if name.startswith(OF_PYTHON_ITSELF)]
    return (
        COLD not in os.environ
        and LIVE not in env
        and all(env.get(name) == os.environ.get(name) for name in names)
    )


def run(
    arguments: Sequence[str], *, stdin: str, env: Mapping[str, str], timeout: float
) -> subprocess.CompletedProcess[str]:
    """What `subprocess.run` of `python -m voice_trainer ARGUMENTS` gives; raises TimeoutExpired as it does."""
    told, telling = socket.socketpair()
    with (
        tempfile.TemporaryFile() as given,
        tempfile.TemporaryFile() as out,
        tempfile.TemporaryFile() as err,
        told,
    ):
        given.write(stdin.encode())
        given.seek(0)
        task = json.dumps(
            {"arguments": list(arguments), "env": dict(env), "folder": str(Path.cwd())}
        ).encode()
        with telling:
            fds = [given.fileno(), out.fileno(), err.fileno(), telling.fileno()]
            socket.send_fds(_warm(), [task], fds)
        pid = _STATUS.unpack(told.recv(_STATUS.size))[0]
        told.settimeout(timeout)
        try:
            code = _STATUS.unpack(told.recv(_STATUS.size))[0]
        except TimeoutError:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
            raise subprocess.TimeoutExpired(list(arguments), timeout) from None
        texts = []
        for file in (out, err):
            file.seek(0)
            texts.append(file.read().decode().replace("\r\n", "\n"))
    return subprocess.CompletedProcess(["voice-trainer", *arguments], code, *texts)


@cache
def _warm() -> socket.socket:
    """The process that forks: one for each process of pytest, gone when that is."""
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    with theirs:
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.cli.warm_start", str(theirs.fileno())], pass_fds=[theirs.fileno()]
        )
    atexit.register(process.wait)
    atexit.register(ours.close)  # the last is the first
    return ours


def _serve(requests: socket.socket) -> None:
    """Fork for every request; in the fork, return what is to be run there."""
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # the forks are waited for by nobody here
    while True:
        task, fds, _, _ = socket.recv_fds(requests, 1 << 20, 4)
        if not task:
            sys.exit()
        if os.fork() == 0:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            requests.close()
            _mind(json.loads(task), fds)
            return
        for fd in fds:
            os.close(fd)


def _mind(task: dict[str, object], fds: Sequence[int]) -> None:
    """Fork once more; wait there, and return in the process that becomes the command."""
    pid = os.fork()
    if pid:
        _wait(pid, fds[3])
    for number, fd in enumerate(fds[:3]):
        os.dup2(fd, number)
    for fd in fds:
        os.close(fd)
    env, arguments = task["env"], task["arguments"]
    assert isinstance(env, dict)
    assert isinstance(arguments, list)
    os.environ.clear()
    os.environ.update(env)
    os.chdir(str(task["folder"]))
    sys.argv = ["voice-trainer", *arguments]


def _wait(pid: int, telling: int) -> NoReturn:
    with contextlib.suppress(OSError):
        os.write(telling, _STATUS.pack(pid))
    _, status = os.waitpid(pid, 0)
    with contextlib.suppress(OSError):
        os.write(telling, _STATUS.pack(os.waitstatus_to_exitcode(status)))
    os._exit(0)


def _load() -> None:
    import voice_trainer.cli as commands

    for module in pkgutil.iter_modules(commands.__path__, f"{commands.__name__}."):
        if module.name not in NOT_LOADED:
            importlib.import_module(module.name)


def _become_the_command() -> NoReturn:
    code: object = 0
    try:
        runpy.run_module("voice_trainer", run_name="__main__", alter_sys=True)
    except SystemExit as end:
        code = end.code
    except BaseException:
        traceback.print_exc()
        code = 1
    if isinstance(code, str):
        print(code, file=sys.stderr)
    # As the interpreter does when it ends; there it would then take 1,500 modules apart, each page of them a copy.
    threading._shutdown()  # type: ignore[attr-defined]
    atexit._run_exitfuncs()
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    os._exit(code if isinstance(code, int) else 0 if code is None else 1)


if __name__ == "__main__":
    _load()
    gc.freeze()
    _serve(socket.socket(fileno=int(sys.argv[1])))
    _become_the_command()
