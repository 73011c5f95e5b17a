"""Ctrl-C, a polite kill and a terminal that hangs up: all three end a drill in good order."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType, TracebackType
from typing import Any, Self

POLITE = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
"""What asks a program to end; SIGINT is Ctrl-C, and there is no SIGHUP on Windows."""


@contextmanager
def polite_signals() -> Iterator[None]:
    """Within it a polite kill and a hang-up are what Ctrl-C is: a KeyboardInterrupt."""
    with _handled(_raise):
        yield


class Interruption:
    """Within `with` the first of these is only noted: `look` raises it where a drill can be ended, so that none is
    ended while a fact is half taken in. A second one is raised at once.
    """

    def __init__(self) -> None:
        self.asked = False
        """Whether somebody wants to end."""
        self._waits = False
        self._handling = _handled(self._note)

    def __enter__(self) -> Self:
        self._handling.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._handling.__exit__(kind, error, trace)

    def look(self) -> None:
        """Raise KeyboardInterrupt if somebody wants to end."""
        if self.asked:
            raise KeyboardInterrupt

    def looking(self, on_block: Callable[[float], None]) -> Callable[[float], None]:
        """`on_block`, and a look before it."""

        def look_first(now: float) -> None:
            self.look()
            on_block(now)

        return look_first

    @contextmanager
    def waiting(self) -> Iterator[None]:
        """Within it the first one is raised at once, too: nothing goes on but waiting for somebody to type."""
        self.look()
        self._waits = True
        try:
            yield
        finally:
            self._waits = False

    def _note(self, number: int, frame: FrameType | None) -> None:
        if number == _HANG_UP:
            _turn_from_the_terminal()
        is_second, self.asked = self.asked, True
        if is_second or self._waits:
            raise KeyboardInterrupt


_HANG_UP = getattr(signal, "SIGHUP", None)


@contextmanager
def _handled(handler: Callable[[int, FrameType | None], Any]) -> Iterator[None]:
    """Within it `handler` gets the polite signals; those that are ignored (nohup) stay so."""
    before: dict[int, Any] = {}
    if threading.current_thread() is threading.main_thread():
        for number in POLITE:
            if signal.getsignal(number) not in (signal.SIG_IGN, None):
                before[number] = signal.signal(number, handler)
    try:
        yield
    finally:
        for number, handled_before in before.items():
            signal.signal(number, handled_before)


def _raise(number: int, frame: FrameType | None) -> None:
    if number == _HANG_UP:
        _turn_from_the_terminal()
    raise KeyboardInterrupt


def _turn_from_the_terminal() -> None:
    """Who hangs up reads nothing more, and writing there would be an error before all is written down."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream, descriptor in ((sys.stdout, 1), (sys.stderr, 2)):
        if stream is not None and os.isatty(descriptor) is False:
            continue  # a file or a pipe, which is still there
        os.dup2(nowhere, descriptor)
    os.close(nowhere)
