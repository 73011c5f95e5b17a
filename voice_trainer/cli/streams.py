"""The standard streams: closed, full, or with nobody at the other end, and what is written to them past the console.

Theory of operation
-------------------
Titles, names, reasons and recognised words may be anything, also what a terminal obeys. Everything that is printed
leaves by one of two doors, and both make it visible (`pages.plain_text`): the console of `cli.terminal`, which adds our
own styling behind that, and the functions here. Data for another program is exact: in JSON what could act is escaped,
which means the same; a table (CSV) has no such escapes, and is made visible only where a terminal shows it.
"""

from __future__ import annotations

import io
import os
import sys
import traceback
from contextlib import suppress
from types import TracebackType
from typing import IO, Final

from voice_trainer.pages.plain_text import escaped_in_json, visible

READER_IS_GONE: Final = 141
"""The exit code where whoever read our output has closed it, as 'head' does: what a shell makes of a command that
SIGPIPE ended (128 + 13), without a word. Neither 0 nor 1 would be true: the command has not come to its answer."""


def open_what_is_closed() -> None:
    """Where a standard stream is closed, nothing takes its place: or the next file that is opened would."""
    for number, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free: this one
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(number, mode, closefd=False))


def make_streams_tolerant() -> None:
    """A terminal that lacks a sign shows '?', one that sends bytes that are no text is read as far as it goes."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def give_up(stream: IO[str]) -> None:
    """Nobody reads it any more, or it takes nothing: what is still written to it goes nowhere, also at the very end."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


def say_error(line: str) -> None:
    """A line on standard error; where nobody reads that, nowhere."""
    try:
        sys.stderr.write(f"{visible(line)}\n")
        sys.stderr.flush()
    except OSError:
        give_up(sys.stderr)


def show_fault(kind: type[BaseException], fault: BaseException, trace: TracebackType | None) -> None:
    """A fault of the program, for `sys.excepthook`: its traceback, which may repeat somebody's text."""
    say_error("".join(traceback.format_exception(kind, fault, trace)).rstrip("\n"))


def write_text(text: str) -> None:
    """Text to be read, as it is but for what could act."""
    sys.stdout.write(visible(text))


def write_json(text: str) -> None:
    """JSON for a program, in UTF-8 whatever the terminal's encoding (RFC 8259)."""
    _write(escaped_in_json(text))


def write_table(text: str) -> None:
    """Comma-separated values for a program, in UTF-8; exact unless a terminal shows them."""
    _write(visible(text.replace("\r\n", "\n")) if sys.stdout.isatty() else text)


def _write(text: str) -> None:
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8"))
    sys.stdout.buffer.flush()
