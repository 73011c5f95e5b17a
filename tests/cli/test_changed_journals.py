"""A journal that was changed, and names what its drill does not have: one line that says where, and nothing lost."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer

SAID = "+3\nturn left heading 320, maintain 2600, cleared for the VOR runway 33 approach, Heron 24\n+9\n"
OTHER = "of another drill"
GRADING = ("debrief", "regrade", "review")


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    """The records of a session, the header first."""
    home = tmp_path_factory.mktemp("home")
    done = voice_trainer(
        *("run", "brannock-clearance", "--input=typed", "--mode=fly-through"), home=home, stdin=SAID
    )
    assert done.returncode == 0, done.stderr
    (journal,) = (home / "journals").glob("*.jsonl")
    return [json.loads(line) for line in journal.read_text(encoding="utf-8").splitlines()]


def written(records: list[dict[str, Any]], home: Path, name: str) -> Path:
    journal = home / "journals" / f"{name}-brannock-clearance-ab12.jsonl"
    journal.parent.mkdir(parents=True, exist_ok=True)
    journal.write_text("".join(json.dumps(record) + "\n" for record in records), encoding="utf-8")
    return journal


def first(records: list[dict[str, Any]], event: str) -> int:
    return next(place for place, record in enumerate(records) if record["event"] == event)


CHANGES: list[tuple[str, str, Any]] = [
    ("step began", "step", OTHER),
    ("accepted", "step", OTHER),
    ("accepted", "call", OTHER),
    ("settled", "step", OTHER),
    ("settled", "call", OTHER),
    ("flow closed", "step", OTHER),
    ("flow closed", "order", [OTHER]),
]

PUT_IN: list[dict[str, Any]] = [
    {"event": "skipped", "step": OTHER},
    {"event": "disputed", "step": OTHER, "call": "heading"},
    {"event": "disputed", "step": "", "call": OTHER},
    {"event": "went back", "step": OTHER},
    {"event": "correction began", "step": OTHER, "calls": []},
    {"event": "correction ended", "step": OTHER, "by": "student"},
]


def changed(kept: list[dict[str, Any]]) -> list[tuple[list[dict[str, Any]], int, str]]:
    """Every change alone: the records, the line that was changed, and what it names."""
    found = []
    for event, field, value in CHANGES:
        at = first(kept, event)
        found.append(([*kept[:at], kept[at] | {field: value}, *kept[at + 1 :]], at + 1, OTHER))
    for record in PUT_IN:
        step = record["step"] or kept[first(kept, "step began")]["step"]
        more = record | {"step": step, "at_seconds": kept[-1]["at_seconds"]}
        found.append(([*kept[:-1], more, kept[-1]], len(kept), OTHER))
    return found


def test_what_names_no_step_or_call_of_its_drill_is_said_with_its_line(
    kept: list[dict[str, Any]], tmp_path: Path
) -> None:
    """By every command that grades it; those that look at all sessions pass it over, and take the others."""
    whole = written(kept, tmp_path, "20260105T080000Z")
    lines = {}
    for number, (records, line, named) in enumerate(changed(kept), start=1):
        journal = written(records, tmp_path, f"20260105T0801{number:02d}Z")
        said = one_line_of_trouble(voice_trainer("debrief", journal, home=tmp_path))
        assert f"{journal}:{line}: " in said
        assert repr(named) in said
        lines[journal.stem] = said
    for command in GRADING:
        assert one_line_of_trouble(voice_trainer(command, journal, home=tmp_path)) == said
    for arguments in (("due",), ("progress",), ("logbook", "rebuild")):
        done = voice_trainer(*arguments, home=tmp_path)
        assert done.returncode == 0, done.stderr
        passed_over = [line for line in (done.stderr + done.stdout).splitlines() if "passed over" in line]
        assert len(passed_over) == len(lines)
        for each, line in lines.items():
            assert sum(each in one for one in passed_over) == 1, line
    assert "1 session entered" in done.stdout
    assert voice_trainer("regrade", whole, home=tmp_path).returncode == 0


def test_a_phrase_of_another_grammar_is_no_call(kept: list[dict[str, Any]], tmp_path: Path) -> None:
    """What was heard names phrases: one that the drill does not listen for is speech of nobody's, as it was live."""
    at = first(kept, "heard")
    heard = json.loads(json.dumps(kept[at]))
    for reading in heard["hearing"]["interpretations"]:
        for span in reading["spans"]:
            for meaning in span["meanings"]:
                meaning["phrase"] = OTHER
    journal = written([*kept[:at], heard, *kept[at + 1 :]], tmp_path, "20260105T080000Z")
    assert voice_trainer("debrief", journal, home=tmp_path).returncode == 0
    assert voice_trainer("due", home=tmp_path).stderr == ""
    again = voice_trainer("regrade", journal, home=tmp_path)
    assert (again.returncode, again.stderr) == (1, "")
    assert "not the same as live" in again.stdout
