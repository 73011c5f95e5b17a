"""`debrief --json` and `--csv`: the schema as it is promised, and text of strangers that does no harm in it."""

from __future__ import annotations

import csv
import io
import json
import os
import re
from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from tests.debrief.sessions import HOSTILE, VERY_LONG, header_of, hostile, journal_with_sound, told
from voice_trainer.debrief.document import DEBRIEF_SCHEMA, CallResult, Document, document_of
from voice_trainer.debrief.report import debrief_of
from voice_trainer.debrief.table import COLUMNS, csv_of

GOLDEN = Path(__file__).parent / "golden"
DEVELOPERS = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(("option", "golden"), [("--json", "debrief.json"), ("--csv", "debrief.csv")])
def test_the_data_are_what_they_were(option: str, golden: str, tmp_path: Path) -> None:
    """To write them anew: VOICE_TRAINER_WRITE_GOLDEN=1; then look at what has changed, and whether the schema must."""
    path = journal_with_sound(tmp_path)
    done = voice_trainer("debrief", path, option, home=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    if os.environ.get("VOICE_TRAINER_WRITE_GOLDEN"):
        (GOLDEN / golden).write_text(done.stdout, encoding="utf-8")
    assert done.stdout.splitlines() == (GOLDEN / golden).read_text(encoding="utf-8").splitlines()


def test_json_can_be_read_back(tmp_path: Path) -> None:
    path = journal_with_sound(tmp_path)
    done = voice_trainer("debrief", path.stem[:12], "--json", home=tmp_path)
    document = Document.model_validate_json(done.stdout)
    assert document.debrief_schema == DEBRIEF_SCHEMA
    assert [(each.call, each.verdict, each.held) for each in document.calls] == [
        ("heading", "wrong value", "wrong value"),
        ("altitude", "correct", "correct"),
        ("gear", "correct", "correct"),
        ("flaps", "disputed", "late"),
        ("lights", "missed", "missed"),
        ("runway", None, None),
    ]
    heading = document.calls[0]
    assert (heading.reason, heading.because) == (
        "Said heading 320; it is heading 310.",
        "340 less 30 is 310.",
    )
    assert [(pair.expected, pair.said) for pair in heading.words if pair.difference == "instead"] == [
        ("one", "two")
    ]
    # The cue lasts two seconds, and eight seconds of window are usual.
    assert (heading.window_opens_seconds, heading.window_closes_seconds) == (2.0, 10.0)
    assert [(each.call, each.costs) for each in document.corrections] == [
        ("heading", 1.0), ("lights", 1.0), ("flaps", 0.5),
    ]  # fmt: skip
    assert document.reviewed is not None
    assert (document.scores.total.got, document.scores.total.of) == (2.0, 4.0)
    assert (document.reviewed.total.got, document.reviewed.total.of) == (2.5, 5.0)


def test_hostile_text_is_text_in_json_and_in_a_spreadsheet() -> None:
    document = document_of(debrief_of(*_in_order(hostile())))
    again = Document.model_validate(json.loads(document.model_dump_json()))
    assert again == document
    assert again.student == HOSTILE and VERY_LONG in again.calls[0].said
    rows = list(csv.DictReader(io.StringIO(csv_of(document), newline="")))
    assert [row["call"] for row in rows] == [call.call for call in document.calls]
    assert {row["session"] for row in rows} == {HOSTILE}


@pytest.mark.parametrize("formula", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1"])
def test_nothing_in_a_cell_is_taken_for_a_formula(formula: str) -> None:
    """OWASP, CSV injection: these begin one in a spreadsheet."""
    scene = told(flow=f"{formula}")
    document = document_of(debrief_of(header_of(scene.drill), scene.records))
    (row, *_) = csv.DictReader(io.StringIO(csv_of(document), newline=""))
    assert row["flow"] == f"'{document.calls[0].flow}"


def test_the_contributors_guide_describes_every_field() -> None:
    described = DEVELOPERS.partition("### Debrief data")[2].partition("\n## ")[0]
    named = set(re.findall(r"`([a-z_]+)`", described))
    assert set(Document.model_fields) | set(CallResult.model_fields) | set(COLUMNS) <= named
    assert f"schema is number {DEBRIEF_SCHEMA}" in described


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (("--html", "page.txt"), "does not end in .html"),
        (("--html", "none/page.html"), "there is no folder"),
        (("--html", "mine.html"), "no debrief"),
        (("--json", "--csv"), "does not go together with"),
        (("--with-answers",), "give --html"),
        (("20261231",), "is no session"),
    ],
)
def test_what_can_not_be_done_is_one_line(arguments: tuple[str, ...], line: str, tmp_path: Path) -> None:
    journal_with_sound(tmp_path)
    (tmp_path / "mine.html").write_text("<p>mine</p>")
    given = [
        str(tmp_path / each) if each.endswith(("html", "txt")) and "--" not in each else each
        for each in arguments
    ]
    assert line in one_line_of_trouble(voice_trainer("debrief", *given, home=tmp_path))
    assert (tmp_path / "mine.html").read_text() == "<p>mine</p>"


def _in_order(session):  # type: ignore[no-untyped-def]
    header, records, overrulings = session
    return header, records, None, overrulings
