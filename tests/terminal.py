"""A program on a pseudo-terminal of its own, and the person at its keys."""

from __future__ import annotations

import os
import pty
import signal
import termios
import time
from collections.abc import Sequence
from types import TracebackType
from typing import Any, Self


class Terminal:
    """A program on a terminal of its own; this side is the person at the keys."""

    def __init__(self, command: Sequence[str], env: dict[str, str] | None = None) -> None:
        self.pid, self.descriptor = pty.fork()
        if self.pid == 0:
            os.execve(command[0], list(command), env or dict(os.environ))
        self.seen = ""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def mode(self) -> list[Any]:
        return termios.tcgetattr(self.descriptor)

    def wait_for(self, text: str, seconds: float = 20) -> None:
        deadline = time.monotonic() + seconds
        while text not in self.seen:
            assert time.monotonic() < deadline, self.seen
            self._read()

    def line(self, number: int, seconds: float = 20) -> tuple[str, bool]:
        """The line of that number, from 0, and whether it is a question, 'Name: ', that waits for an answer."""
        deadline = time.monotonic() + seconds
        while True:
            lines = self.seen.replace("\r\n", "\n").split("\n")
            if len(lines) > number + 1:
                return lines[number], False
            if len(lines) > number and lines[number].endswith(": "):
                return lines[number], True
            assert time.monotonic() < deadline, self.seen
            self._read()

    def press(self, keys: str) -> None:
        os.write(self.descriptor, keys.encode())

    def ends(self, seconds: float = 20) -> int:
        deadline = time.monotonic() + seconds
        while True:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.pid = 0
                return os.waitstatus_to_exitcode(status)
            assert time.monotonic() < deadline, self.seen
            self._read()

    def _read(self) -> None:
        os.set_blocking(self.descriptor, False)
        try:
            self.seen += os.read(self.descriptor, 4096).decode()
        except (BlockingIOError, OSError):
            time.sleep(0.01)

    def close(self) -> None:
        if self.pid:
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
        os.close(self.descriptor)
