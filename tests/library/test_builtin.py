"""The drills that come with the program, and finding one."""

from __future__ import annotations

from pathlib import Path

import pytest

from voice_trainer.library import builtin, flown
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.library.drill_files import load_drill
from voice_trainer.library.errors import DrillError

SMALL = """\
drill: gear
title: Gear
kind: memory
trains: gear
steps: [{step: one, flow: {calls: [{call: gear, say: gear down}]}}]
"""


@pytest.fixture
def content(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(builtin, "CONTENT", tmp_path)
    monkeypatch.setattr(flown, "PROCEDURES", tmp_path / "procedures")
    return tmp_path


def test_every_drill_that_comes_with_the_program_is_whole_and_named_like_its_file() -> None:
    for name, path in builtin_drills().items():
        assert load_drill(path).drill == name


def test_there_is_a_drill_of_each_kind_that_this_version_has() -> None:
    drills = [load_drill(path) for path in builtin_drills().values()]
    kinds = {drill.kind for drill in drills}
    assert kinds >= {"procedure", "radio", "checklist", "memory", "callouts", "brief"}
    assert {drill.region for drill in drills} == {"faa", "icao"}
    assert all(drill.sources for drill in drills)


def test_a_drill_is_found_by_its_name(content: Path) -> None:
    (content / "gear.yaml").write_text(SMALL)
    assert find_drill("gear").title == "Gear"
    assert list(builtin_drills()) == ["gear"]


def test_a_drill_is_found_by_its_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "mine.yaml").write_text(SMALL)
    (tmp_path / "mine").write_text(SMALL)
    assert find_drill(str(tmp_path / "mine")).drill == "gear"
    monkeypatch.chdir(tmp_path)
    assert find_drill("mine.yaml").drill == "gear"
    assert find_drill("./mine").drill == "gear"


def test_a_slip_in_a_name_gets_a_suggestion(content: Path) -> None:
    for name in ("brannock-clearance", "gear", "kelda-outbound"):
        (content / f"{name}.yaml").write_text(SMALL)
    for slip, likely in (
        ("branock-clearence", "brannock-clearance"),
        ("Gear", "gear"),
        ("kelda_outbound", "kelda-outbound"),
    ):
        with pytest.raises(DrillError) as caught:
            find_drill(slip)
        assert str(caught.value) == f"'{slip}': there is no drill of this name; did you mean '{likely}'?"
    with pytest.raises(DrillError) as caught:
        find_drill("xyzzy")
    assert str(caught.value) == (
        "'xyzzy': there is no drill of this name; use brannock-clearance, gear or kelda-outbound, or a file such "
        "as ./my-drill.yaml"
    )


@pytest.mark.usefixtures("content")
def test_an_installation_without_drills_says_so() -> None:
    assert builtin_drills() == {}
    with pytest.raises(DrillError) as caught:
        find_drill("gear")
    assert str(caught.value) == (
        "'gear': there is no drill of this name; none came with this installation; name a file such as ./my-drill.yaml"
    )
