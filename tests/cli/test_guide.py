"""The pages of the guide do what they show: every file in them is written, every command run, its output compared.

How a page says what is what, by the info string of a block:

- a language and a name, 'yaml landing.yaml': a file of that name;
- 'console': a command a line behind '$ ', and below it what comes of it; '[...]' alone on a line stands for any
  lines, inside a line for any text; a command with nothing below it only has to succeed;
- 'console 2': likewise, and the last command ends with that exit code;
- 'console asks': one command that asks at a terminal, with what is typed behind its questions.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from tests.cli.warm import warm_voice_trainer
from tests.terminal import Terminal
from voice_trainer.cli.guide import FOLDER, PAGES, files_of, page_text, title_of
from voice_trainer.cli.main import parser

ROOT = Path(__file__).parents[2]
WIDEST_COPIED = 78
"""Columns of what is copied: with its margins it then fits a terminal of 80 without a break in its lines."""

_BLOCK = re.compile(r"^```(.*?)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_COMMAND = re.compile(r"^\$ ((?:.*\\\n)*.*)\n((?:(?!\$ ).*\n)*)", re.MULTILINE)


def as_pattern(shown: str) -> re.Pattern[str]:
    lines = [
        r"(?:.*\n)*?" if line.strip() == "[...]" else ".*?".join(map(re.escape, line.split("[...]"))) + "\n"
        for line in shown.splitlines()
    ]
    return re.compile("".join(lines))


class Reader:
    """Somebody who does what a page says, in a folder and a home of their own."""

    def __init__(self, folder: Path) -> None:
        self.desk = folder / "desk"
        programs = folder / "bin"
        for each in (self.desk, programs):
            each.mkdir()
        start = programs / "voice-trainer"
        start.write_text(
            f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -m voice_trainer "$@"\n', encoding="utf-8"
        )
        start.chmod(0o755)
        self.environment = os.environ | {
            "VOICE_TRAINER_HOME": str(folder / "home"),
            "PATH": f"{programs}:{os.environ['PATH']}",
            "PYTHONPATH": str(ROOT),
            "NO_COLOR": "1",
            "TERM": "dumb",
        }
        self.environment.pop("VOICE_TRAINER_COMMAND", None)

    def does(self, info: str, content: str) -> None:
        match info.split():
            case ["console"]:
                self.types(content, 0)
            case ["console", "asks"]:
                self.answers(content)
            case ["console", code]:
                self.types(content, int(code))
            case [_, name]:
                path = self.desk / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(content, encoding="utf-8")
            case _:
                raise AssertionError(f"what is this block? {info!r}")

    def types(self, content: str, code_of_the_last: int) -> None:
        commands = _COMMAND.findall(content)
        assert "".join(f"$ {command}\n{shown}" for command, shown in commands) == content
        for number, (command, shown) in enumerate(commands, 1):
            code, printed = self.runs(command)
            assert code == (code_of_the_last if number == len(commands) else 0), f"$ {command}\n{printed}"
            if shown:
                assert as_pattern(shown).fullmatch(printed), f"$ {command}\n{printed}"

    def runs(self, command: str) -> tuple[int | None, str]:
        """The exit code of a command, and what it prints."""
        program, *arguments = shlex.split(command.replace("\\\n", ""))
        if program != "voice-trainer":
            done = subprocess.run(
                ["bash", "-c", command], cwd=self.desk, capture_output=True, text=True, timeout=20, check=True
            )
            return done.returncode, done.stdout + done.stderr
        stdin = None
        if "<" in arguments:
            *arguments, mark, name = arguments
            assert mark == "<"
            stdin = self.desk / name
        output = self.desk.parent / "output"
        code = warm_voice_trainer(
            arguments, folder=self.desk, env=self.environment, stdin=stdin, output=output
        )
        return code, output.read_text(encoding="utf-8")

    def answers(self, content: str) -> None:
        [(command, shown)] = _COMMAND.findall(content)
        whole = f"cd {shlex.quote(str(self.desk))} && exec {command}"
        with Terminal(["/bin/bash", "-c", whole], self.environment) as terminal:
            for number, line in enumerate(shown.splitlines()):
                told, waits = terminal.line(number)
                if waits:
                    assert line.startswith(told), terminal.seen
                    terminal.press(f"{line.removeprefix(told)}\n")
            assert terminal.ends() == 0, terminal.seen
            assert terminal.seen.replace("\r\n", "\n") == shown


def blocks_of(page: str) -> Iterator[tuple[str, str]]:
    yield from _BLOCK.findall(page_text(page))


@pytest.mark.parametrize("page", [page for page in PAGES if page != "drill-format"])
def test_whoever_does_what_a_page_says_gets_what_it_shows(page: str, tmp_path: Path) -> None:
    reader = Reader(tmp_path)
    blocks = list(blocks_of(page))
    assert any(info.startswith("console") for info, _ in blocks)
    for info, content in blocks:
        reader.does(info, content)


@pytest.mark.parametrize("page", PAGES)
def test_a_page_fits_a_terminal_names_its_files_and_cautions(page: str) -> None:
    text = page_text(page)
    assert text.startswith("# ")
    assert "study aid only" in " ".join(text.casefold().split())
    for info, content in blocks_of(page):
        for line in content.splitlines():
            is_copied = not info.startswith("console") or line.startswith("$ ")
            assert len(line) <= WIDEST_COPIED or not is_copied, line
    for name in files_of(text):
        before = text.partition(f" {name}\n")[0]
        assert f"`{name}`" in before, f"{name}: its name is only in the info string, which nobody sees"


@pytest.mark.parametrize("page", PAGES)
def test_what_a_page_mentions_in_passing_is_a_command_or_a_page(page: str) -> None:
    text = _BLOCK.sub("", page_text(page))
    for command in re.findall(r"`voice-trainer ([^`]+)`", text):
        parser().parse_args(shlex.split(re.sub(r"\bNUMBER\b", "5", command)))
    for target in re.findall(r"\]\(([^)]+)\)", text):
        assert (FOLDER / target).is_file(), target


def test_the_list_has_every_page_with_its_title(tmp_path: Path) -> None:
    assert {path.stem for path in FOLDER.glob("*.md")} == set(PAGES)
    listed = voice_trainer("guide", home=tmp_path).stdout.splitlines()
    for page, line in zip(PAGES, listed, strict=False):
        assert line.split(maxsplit=1) == [page, title_of(page_text(page))]


def test_a_page_is_shown_as_it_is_typed_here(tmp_path: Path) -> None:
    shown = voice_trainer(
        "guide", "write-a-checklist", home=tmp_path, env={"VOICE_TRAINER_COMMAND": "scripts/run"}
    )
    assert (shown.returncode, shown.stderr) == (0, "")
    assert shown.stdout.startswith(f"# {title_of(page_text('write-a-checklist'))}\n")
    assert "$ scripts/run import checklist" in shown.stdout
    assert "$ voice-trainer" not in shown.stdout


def test_on_a_terminal_a_page_is_laid_out(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "voice_trainer", "guide", "write-a-checklist"]
    environment = os.environ | {"VOICE_TRAINER_HOME": str(tmp_path), "PYTHONPATH": str(ROOT), "TERM": "dumb"}
    with Terminal(command, environment) as terminal:
        assert terminal.ends() == 0
        assert title_of(page_text("write-a-checklist")) in terminal.seen
        assert "```" not in terminal.seen


def test_the_files_of_a_page_are_written_and_never_over_others(tmp_path: Path) -> None:
    command = ("guide", "write-a-checklist", "--files", tmp_path / "mine")
    done = voice_trainer(*command, home=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert {path.name for path in (tmp_path / "mine").iterdir()} == {
        "landing.csv",
        "answers.txt",
        "flaps.yaml",
    }
    for name, content in files_of(page_text("write-a-checklist")).items():
        path = tmp_path / "mine" / name
        assert path.read_text(encoding="utf-8") == content
        path.write_text("my own work", encoding="utf-8")
    assert "is there already" in one_line_of_trouble(voice_trainer(*command, home=tmp_path))
    for name in files_of(page_text("write-a-checklist")):
        assert (tmp_path / "mine" / name).read_text(encoding="utf-8") == "my own work"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("first-dril",), "did you mean 'first-drill'?"),
        (("zzz",), "there are first-drill, "),
        (("--files", "."), "of which page?"),
        (("drill-format", "--files", "."), "shows no files"),
    ],
)
def test_what_can_not_be_shown_is_said_in_one_line(
    arguments: tuple[str, ...], said: str, tmp_path: Path
) -> None:
    assert said in one_line_of_trouble(voice_trainer("guide", *arguments, home=tmp_path))
