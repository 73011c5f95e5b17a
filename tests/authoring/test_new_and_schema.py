"""`new` and `schema`: a file to begin with for each kind, and what an editor is told of files."""

from __future__ import annotations

import json
from pathlib import Path
from typing import get_args

import jsonschema
import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.authoring.checking import check_files
from voice_trainer.authoring.schema import SCHEMA, schema_text
from voice_trainer.authoring.templates import template_of
from voice_trainer.cli.main import KINDS
from voice_trainer.drills.model import DrillKind
from voice_trainer.library.builtin import builtin_drills
from voice_trainer.library.drill_files import load_drill
from voice_trainer.library.strict_yaml import read_yaml


def is_valid(content: bytes) -> bool:
    validator = jsonschema.Draft202012Validator(json.loads(SCHEMA.read_text(encoding="utf-8")))
    return bool(validator.is_valid(read_yaml(content, "drill").data))


def test_the_kinds_of_the_command_line_are_those_of_the_model() -> None:
    assert get_args(DrillKind) == KINDS


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", ["my-own", "123", "null"])
def test_a_new_drill_is_without_error_or_warning_and_commented(tmp_path: Path, kind: str, name: str) -> None:
    path = tmp_path / "new.yaml"
    path.write_text(template_of(kind, name), encoding="utf-8")
    assert check_files([path]) == []
    drill = load_drill(path)
    assert (drill.drill, drill.kind) == (name, kind)
    assert path.read_text(encoding="utf-8").startswith("#")
    assert is_valid(path.read_bytes())


def test_new_writes_the_file_and_never_over_another(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    done = voice_trainer("new", "radio", "mine", "--out", path, home=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    path.write_text("my own work", encoding="utf-8")
    line = one_line_of_trouble(voice_trainer("new", "radio", "mine", "--out", path, home=tmp_path))
    assert "is there already" in line
    assert path.read_text(encoding="utf-8") == "my own work"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("radoi", "mine"), "use procedure, radio"),
        (("radio", "../Mine"), "small letters"),
        (("radio", "mine", "--out", "nowhere/mine.yaml"), "there is no folder"),
    ],
)
def test_what_can_not_be_made_is_said_in_one_line(
    tmp_path: Path, arguments: tuple[str, ...], said: str
) -> None:
    assert said in one_line_of_trouble(voice_trainer("new", *arguments, home=tmp_path))


def test_the_schema_that_comes_with_the_program_is_that_of_the_model(tmp_path: Path) -> None:
    assert SCHEMA.read_text(encoding="utf-8") == schema_text()
    jsonschema.Draft202012Validator.check_schema(json.loads(schema_text()))
    assert voice_trainer("schema", home=tmp_path).stdout == schema_text()


@pytest.mark.parametrize("name", builtin_drills())
def test_every_builtin_drill_is_valid_by_the_schema(name: str) -> None:
    assert is_valid(builtin_drills()[name].read_bytes())


@pytest.mark.parametrize(
    ("kind", "was", "becomes", "valid"),
    [
        ("procedure", "distance_nm: 1\n", 'distance_nm: "{=wind}"\n', True),
        ("procedure", "distance_nm: 1\n", "distance_nm: near\n", False),
        ("procedure", "does: turn ", "does: tun ", False),
        ("reckoning", "to: 360", "too: 360", False),
        ("reckoning", "=reciprocal(outbound)", "reciprocal(outbound)", False),
        ("radio", "title:", "titel:", False),
        ("radio", "kind: radio", "kind: wireless", False),
    ],
)
def test_the_schema_takes_computed_values_and_refuses_slips(
    kind: str, was: str, becomes: str, valid: bool
) -> None:
    text = template_of(kind, "mine")
    assert was in text
    assert is_valid(text.replace(was, becomes).encode()) == valid
