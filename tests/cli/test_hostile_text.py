"""Titles, names, reasons, words and file names that a terminal would obey: they are shown, and do nothing."""

from __future__ import annotations

import ast
import csv
import io
import json
import os
import re
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import voice_trainer
from tests.terminal import Terminal

HOSTILE = "a\x1b]0;owned\x07b\x1b[2Jc\x1b[8md\u009b31me\u202ef\x7fg\rh"
"""Sets a window's title, clears the screen, conceals, colours (as one character too), turns the direction, deletes."""

ACTING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")
OF_STYLES = re.compile(r"\x1b\[[0-9;]*m")

DRILL = """\
drill: NAME
title: The gear of the gulls
kind: radio
trains: nothing
steps:
  - step: vector
    when: start
    cue: {speaker: controller, say: "Turn left heading {heading: 284}."}
    flow:
      calls:
        - call: heading
          say: "[turn] left heading {heading: 284}"
          because: it was said
"""
FREE_TEXTS = ("title", "trains", "because", "reason", "said", "text", "voice", "engine", "student")
"""What a journal may hold that nobody has to mean as it stands."""


def poisoned(value: Any) -> Any:
    """A record of a journal, its free texts what somebody made of them who sent it."""
    if isinstance(value, list):
        return [poisoned(each) for each in value]
    if not isinstance(value, dict):
        return value
    return {
        key: f"{each}{HOSTILE}" if key in FREE_TEXTS and isinstance(each, str) else poisoned(each)
        for key, each in value.items()
    }


def practised_in(home: Path, file: Path) -> None:
    """A session, and its journal as somebody has changed it."""
    file.write_text(DRILL.replace("NAME", "mine"), encoding="utf-8")
    said = "+3\nturn left heading 285\n+30\n"
    done = voice_trainer("run", file, "--input", "typed", "--student", "Anna", home=home, stdin=said)
    assert done.returncode == 0, done.stderr
    (journal,) = (home / "journals").glob("*.jsonl")
    records = [poisoned(json.loads(line)) for line in journal.read_text().splitlines()]
    journal.write_text("".join(f"{json.dumps(each)}\n" for each in records))
    (home / "logbook.sqlite").unlink()


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Packs and drills with texts that act, in files with names that act, and a session of that kind."""
    home = tmp_path_factory.mktemp("home")
    acting = json.dumps(HOSTILE)
    for name in ("gulls", f"terns{HOSTILE}"):
        pack = home / "packs" / name
        pack.mkdir(parents=True)
        (pack / "pack.yaml").write_text(f"pack: gulls\nformat: 1\ntitle: {acting}\n")
        (pack / "gear.yaml").write_text(DRILL.replace("The gear of the gulls", acting), encoding="utf-8")
    practised_in(home, home / f"mine{HOSTILE}.yaml")
    (home / f"wrong{HOSTILE}.yaml").write_text(f"drill: wrong\ntitle: {acting}\n\u202enothing: 1\n")
    return home


COMMANDS = (
    ("list",),
    ("packs",),
    ("check", "."),
    ("check", "--json", "."),
    ("run", "FILE", "--input", "typed"),
    ("plan", "FILE"),
    ("debrief",),
    ("debrief", "--json"),
    ("regrade",),
    ("review", "--all", "--output", "none"),
    ("logbook", "rebuild"),
    ("due",),
    ("due", "--json"),
    ("progress",),
    ("progress", "--student", HOSTILE),
    ("progress", "--csv", "calls"),
    ("hear", f"{HOSTILE}.wav", "--expect", "gear down"),
    ("hear", "--manifest", f"{HOSTILE}.jsonl"),
    ("track", "FILE", "--out", f"{HOSTILE}.doc"),
    ("debrief", "--html", f"{HOSTILE}/a.html"),
    ("packs", "add", HOSTILE),
    ("models", "remove", HOSTILE),
    (HOSTILE,),
    ("doctor", "--microphone", HOSTILE),
    ("privacy",),
    ("forget", "--all", "--yes"),
)


@pytest.mark.parametrize(
    "command", COMMANDS, ids=lambda each: " ".join(each[:2]).encode("unicode_escape").decode()
)
def test_nothing_that_acts_leaves_a_command(command: tuple[str, ...], home: Path) -> None:
    file = str(home / f"mine{HOSTILE}.yaml")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(home)
        patch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))
        done = voice_trainer(*(file if each == "FILE" else each for each in command), home=home, timeout=240)
    assert done.stdout or done.stderr
    assert "Traceback" not in done.stderr
    for text in (done.stdout, done.stderr):
        assert ACTING.findall(text) == [], text


def test_what_is_shown_is_all_there_and_data_is_exact(home: Path) -> None:
    assert "a\ufffd]0;owned" in voice_trainer("list", home=home).stdout
    found = voice_trainer("check", "--json", home / f"wrong{HOSTILE}.yaml", home=home).stdout
    assert any(HOSTILE in json.loads(line)["file"] for line in found.splitlines())


def test_a_table_is_exact_for_a_program(practised: Path) -> None:
    rows = csv.DictReader(io.StringIO(voice_trainer("debrief", "--csv", home=practised).stdout, newline=""))
    assert [row["because"] for row in rows if "\x1b]0;owned\x07" in row["because"]]


@pytest.fixture(scope="module")
def practised(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A session whose words act, of its own: others forget theirs."""
    home = tmp_path_factory.mktemp("practised")
    practised_in(home, home / "mine.yaml")
    return home


@pytest.mark.parametrize(
    "command", [["debrief"], ["debrief", "--csv"], ["debrief", "--json"], ["check", "mine.yaml"]]
)
def test_on_a_terminal_only_our_own_styles_act(command: list[str], practised: Path) -> None:
    env = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    env |= {"VOICE_TRAINER_HOME": str(practised), "TERM": "xterm-256color", "COLUMNS": "100"}
    given = [str(practised / each) if each.endswith("yaml") else each for each in command]
    with Terminal([sys.executable, "-m", "voice_trainer", *given], env) as terminal:
        code = terminal.ends(60)
        terminal.wait_for("\n")
        while True:
            before = terminal.seen
            terminal._read()
            if terminal.seen == before:
                break
    assert code == 0, terminal.seen
    seen = terminal.seen.replace("\r\n", "\n")
    assert "\x1b[8m" not in seen
    assert ACTING.findall(OF_STYLES.sub("", seen)) == []
    if command == ["debrief"]:
        assert OF_STYLES.search(seen)
        assert "a\ufffd]0;owned" in seen


def test_there_is_no_other_door() -> None:
    """`print`, a `Console` and the streams themselves are for `cli/terminal.py` and `cli/streams.py`."""
    package = Path(__file__).parents[2] / "voice_trainer"
    doors = {package / "cli" / "terminal.py", package / "cli" / "streams.py"}
    found = []
    for file in sorted(set(package.rglob("*.py")) - doors):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            called = ast.unparse(node.func)
            if called in ("print", "Console") or re.fullmatch(
                r"sys\.std(out|err)(\.buffer)?\.write(lines)?", called
            ):
                found.append(f"{file.relative_to(package)}:{node.lineno}: {called}")
    assert found == []
