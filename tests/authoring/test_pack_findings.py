"""`check` of a pack: its manifest against what lies beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pack_sources import EXAMPLE, FLOW, drill, pack, pack_folder
from voice_trainer.authoring.checking import check_files, files_of

MANIFEST = pack({"gear.yaml": drill()})["pack.yaml"].decode()


def findings(folder: Path) -> list[str]:
    return [str(finding).removeprefix(f"{folder}/") for finding in check_files(files_of(folder))]


def test_the_example_has_neither_errors_nor_warnings() -> None:
    assert findings(EXAMPLE) == []


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            "pack: gull-school",
            "pack: Gull School",
            "pack.yaml:1:7: error: 'pack' can't be 'Gull School'; use up to 61",
        ),
        (
            "format: 1",
            "format: 2",
            "pack.yaml:2:9: error: this is format 2 of packs, and this program knows 1",
        ),
        (
            '"2.1"',
            "2.10",
            "pack.yaml:3:10: error: 'version' must be text, not 2.10; put it into quotes: '2.10'",
        ),
        (
            "title: Gull School",
            'title: "a\\nb"',
            "pack.yaml:4:8: error: it holds characters that can't be seen;",
        ),
        ("title: Gull School", 'title: "\\u202eb"', "pack.yaml:4:8: error: character U+202E can't be seen"),
        ("made_by: nobody\n", "", "pack.yaml:1:1: error: the key 'made_by' is missing here"),
        ("licence:", "license:", "pack.yaml:6:1: error: unknown key 'license'; did you mean 'licence'?"),
        (
            "gear.yaml]",
            "gaer.yaml]",
            "pack.yaml:7:9: error: there is no file 'gaer.yaml'; did you mean 'gear.yaml'?",
        ),
        (
            "gear.yaml]",
            "../gear.yaml]",
            "pack.yaml:7:9: error: item 1 of 'holds' can't be '../gear.yaml'; name a",
        ),
        ("gear.yaml]", "gear.yaml, gear.yaml]", "pack.yaml:7:20: error: 'gear.yaml' is named twice"),
        (
            "holds:",
            "house_flow: our order\nholds:",
            "pack.yaml:7:13: error: no house flow of this pack is called",
        ),
    ],
)
def test_what_is_wrong_with_a_manifest_is_said_with_its_place(
    old: str, new: str, says: str, tmp_path: Path
) -> None:
    assert old in MANIFEST
    manifest = MANIFEST.replace(old, new).encode()
    folder = pack_folder(tmp_path / "mine", {"pack.yaml": manifest, "gear.yaml": drill()})
    assert any(line.startswith(says) for line in findings(folder)), findings(folder)


def test_files_that_are_no_part_of_a_pack_are_named(tmp_path: Path) -> None:
    files = pack({"gear.yaml": drill(), "gull-order.yaml": FLOW.encode()})
    folder = pack_folder(tmp_path / "mine", files | {"README.md": b"", ".hidden": b""})
    assert findings(folder) == []
    (folder / "run.sh").touch()
    (folder / "more").mkdir()
    assert findings(folder) == [
        "more: error: this is no file; a pack is one folder of files: take it out",
        "run.sh: error: this is no part of a pack; a pack holds .yaml files, and .md and .txt for people: take it out",
    ]


def test_a_house_flow_with_a_fault_is_found(tmp_path: Path) -> None:
    flow = FLOW.replace("twist", "twirl").encode()
    folder = pack_folder(tmp_path / "mine", pack({"gull-order.yaml": flow}))
    assert any("'twirl'" in line and line.startswith("gull-order.yaml:4:") for line in findings(folder))


def test_a_drill_of_a_file_can_not_pass_for_one_of_a_pack(tmp_path: Path) -> None:
    path = tmp_path / "gear.yaml"
    path.write_bytes(drill("gull-school/gear"))
    (only,) = findings(tmp_path)
    assert only.startswith("gear.yaml:1:8: error: 'drill' can't be 'gull-school/gear'; write 'gear' alone")
