"""What the README shows is so: its drill runs, its commands and options exist, its excerpt can be had."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.cli.guide import PAGES
from voice_trainer.cli.main import parser
from voice_trainer.library.builtin import builtin_drills, find_drill

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def test_the_drill_in_the_readme_runs(tmp_path: Path) -> None:
    [drill] = re.findall(r"```yaml\n(.*?)```", README, re.DOTALL)
    path = tmp_path / "my-drill.yaml"
    path.write_text(drill, encoding="utf-8")
    said = "+2\nHeron 24, left heading 310, maintain 2,600\n"
    done = voice_trainer("run", path, "--input", "typed", home=tmp_path, stdin=said)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Score 100 %: 3 of 3 points." in done.stdout


def test_the_readme_links_every_page_of_the_guide() -> None:
    assert re.findall(r"^\| \[([a-z-]+)\]\(voice_trainer/guide/\1\.md\) \|", README, re.MULTILINE) == list(
        PAGES
    )


def test_the_readme_lists_the_built_in_drills_with_their_kinds() -> None:
    listed = dict(re.findall(r"^\| `([a-z-]+)` \| (\w+) \|", README, re.MULTILINE))
    assert listed == {name: find_drill(name).kind for name in builtin_drills()}


@pytest.mark.parametrize(
    "command",
    [
        "list",
        "guide",
        "run",
        "hear",
        "record",
        "enrol",
        "debrief",
        "regrade",
        "grade",
        "review",
        "due",
        "progress",
        "logbook",
        "privacy",
        "forget",
        "doctor",
        "models",
        "packs",
    ],
)
def test_every_command_is_in_the_readme(command: str, tmp_path: Path) -> None:
    assert f"voice-trainer {command}" in README
    assert voice_trainer(command, "--help", home=tmp_path).returncode == 0


def options_of(command: argparse.ArgumentParser) -> set[str]:
    """The options of a command, and of the commands below it."""
    known = set(re.findall(r"--[a-z][a-z-]+", command.format_help()))
    below = command._subparsers._group_actions[0].choices if command._subparsers else {}
    return known.union(*(options_of(each) for each in below.values()))  # type: ignore[union-attr]


def test_every_option_that_the_readme_names_exists() -> None:
    named = set(re.findall(r"`?(--[a-z][a-z-]+)", README)) - {
        "--help",
        "--fast",
        "--long",
        "--size",
        "--half",
    }
    known = options_of(parser())
    assert named <= known, named - known


def test_the_cautions_are_at_the_top() -> None:
    top = README[:2000]
    for words in ("Study aid only", "Never use it while operating an", "your instructor come first"):
        assert words in " ".join(top.replace("\n> ", " ").split())


@pytest.mark.slow
def test_the_excerpt_is_what_the_session_prints(tmp_path: Path) -> None:
    shown = re.findall(r"^  [+x~?] .*", README, re.MULTILINE)
    assert len(shown) >= 5
    done = voice_trainer(
        "run", "kelda-outbound", "--input=student", "--output=none", home=tmp_path, timeout=180
    )
    printed = done.stdout.splitlines()
    assert done.returncode == 0
    for line in shown:
        call_and_verdict = line[:32]
        assert any(other.startswith(call_and_verdict) for other in printed), line
