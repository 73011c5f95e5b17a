"""Keys from a real (pseudo-)terminal: read one by one, and the terminal restored whatever ends the program."""

from __future__ import annotations

import os
import signal
import sys
import termios
from collections.abc import Iterator
from typing import Any

import pytest

from tests.terminal import Terminal
from voice_trainer.session.keyboard import is_usable

PROGRAM = """
import sys, time
from voice_trainer.session.keyboard import Keyboard
with Keyboard(0) as keyboard:
    print("ready", flush=True)
    while True:
        for key in keyboard.pressed():
            print(f"<{key}>", flush=True)
            if key == "x":
                raise RuntimeError("an error inside")
            if key == "q":
                sys.exit(0)
        time.sleep(0.01)
"""


@pytest.fixture
def terminal() -> Iterator[Terminal]:
    with Terminal([sys.executable, "-c", PROGRAM]) as opened:
        yield opened


def echoes(mode: list[Any]) -> tuple[bool, bool]:
    return bool(mode[3] & termios.ECHO), bool(mode[3] & termios.ICANON)


def test_keys_come_one_by_one_without_an_echo(terminal: Terminal) -> None:
    before = terminal.mode()
    terminal.wait_for("ready")
    assert echoes(terminal.mode()) == (False, False)
    for key in "pr ":
        terminal.press(key)
        terminal.wait_for(f"<{key}>")
    assert terminal.seen.replace("\r", "").split("ready\n")[1] == "<p>\n<r>\n< >\n"
    terminal.press("\x1b[1;5q\x1bOq\x1b[Ar")
    terminal.wait_for("<r>\r\n< >\r\n<r>")
    terminal.press("q")
    assert terminal.ends() == 0
    assert terminal.mode() == before


@pytest.mark.parametrize("end", ["exception", "SIGTERM", "SIGHUP", "SIGINT"])
def test_the_terminal_is_restored_whatever_ends_the_program(terminal: Terminal, end: str) -> None:
    before = terminal.mode()
    terminal.wait_for("ready")
    assert terminal.mode() != before
    if end == "exception":
        terminal.press("x")
    elif end == "SIGINT":
        terminal.press("\x03")  # Ctrl-C, as a person gives it
    else:
        os.kill(terminal.pid, getattr(signal, end))
    assert terminal.ends() != 0
    assert terminal.mode() == before


def test_after_a_stop_and_a_return_keys_come_one_by_one_again(terminal: Terminal) -> None:
    before = terminal.mode()
    terminal.wait_for("ready")
    os.kill(terminal.pid, signal.SIGSTOP)
    termios.tcsetattr(terminal.descriptor, termios.TCSANOW, before)  # as a shell does
    os.kill(terminal.pid, signal.SIGCONT)
    terminal.press("p")
    terminal.wait_for("<p>")
    assert echoes(terminal.mode()) == (False, False)


def test_what_is_no_terminal_is_not_used() -> None:
    reading, writing = os.pipe()
    assert not is_usable(reading)
    os.close(reading)
    os.close(writing)
    assert not is_usable(reading)
    assert not is_usable(-1)
