"""Single keys from a terminal, and the terminal as it was afterwards, whatever happens meanwhile."""

from __future__ import annotations

import os
import re
import select
import signal
import termios
import threading
import tty
from types import FrameType, TracebackType
from typing import Any, Self

MOST_BYTES = 64

_ESCAPE_SEQUENCE = re.compile(r"\x1b(\[[0-?]*[ -/]*[@-~]|O?.)?")
"""An arrow or a function key (ECMA-48, 5.4: control sequences): none of ours, nor are the letters in it."""


def is_usable(descriptor: int) -> bool:
    """Whether this is a terminal, and this program may read its keys now (it is not in the background)."""
    try:
        return os.isatty(descriptor) and os.tcgetpgrp(descriptor) == os.getpgrp()
    except OSError:
        return False


class Keyboard:
    """Within `with`, keys come one by one and are not echoed; Ctrl-C and Ctrl-Z work as ever.

    The terminal is restored at the end of the block, also by an exception, a SIGTERM or a SIGHUP, which end the program
    by SystemExit while the block lasts; and it is set anew when the program comes back from Ctrl-Z.
    """

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._before: list[Any] | None = None
        self._handlers: dict[int, Any] = {}
        self._gone = False

    def __enter__(self) -> Self:
        self._before = termios.tcgetattr(self._descriptor)
        if threading.current_thread() is threading.main_thread():
            for number in (signal.SIGTERM, signal.SIGHUP):
                if signal.getsignal(number) is signal.SIG_DFL:
                    self._handlers[number] = signal.signal(number, _leave)
            self._handlers[signal.SIGCONT] = signal.signal(signal.SIGCONT, self._come_back)
        tty.setcbreak(self._descriptor, termios.TCSADRAIN)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for number, handler in self._handlers.items():
            signal.signal(number, handler)
        self._handlers.clear()
        if self._before is not None and is_usable(self._descriptor):
            termios.tcsetattr(self._descriptor, termios.TCSADRAIN, self._before)

    def pressed(self) -> str:
        """The keys that were pressed since the last call, '' for none; never waits."""
        if self._gone or not is_usable(self._descriptor):
            return ""
        if not select.select([self._descriptor], [], [], 0)[0]:
            return ""
        try:
            data = os.read(self._descriptor, MOST_BYTES)
        except OSError:  # the terminal was closed
            data = b""
        self._gone = not data
        return _ESCAPE_SEQUENCE.sub("", data.decode("ascii", "ignore"))

    def _come_back(self, number: int, frame: FrameType | None) -> None:
        if is_usable(self._descriptor):
            tty.setcbreak(self._descriptor, termios.TCSADRAIN)


def _leave(number: int, frame: FrameType | None) -> None:
    raise SystemExit(128 + number)
