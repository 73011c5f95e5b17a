"""Progress as data: the schema, held by golden files, and what adds up."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.progress.practised import NOW, report
from voice_trainer.logbook.progress import RECENT_WEEKS, shares_of, trend_of
from voice_trainer.progress.data import student_as_data, students_as_data
from voice_trainer.progress.table import Table, csv_of
from voice_trainer.progress.wording import change, percent

GOLDEN = Path(__file__).parent / "golden"


def test_the_json_is_the_golden_one() -> None:
    """A change of it is a change of the schema: see `progress/data.py` for when its number is raised."""
    text = json.dumps(student_as_data(report(sessions=6)), indent=2) + "\n"
    assert text == (GOLDEN / "progress.json").read_text(encoding="utf-8")


@pytest.mark.parametrize("table", ["flows", "calls"])
def test_the_csv_is_the_golden_one(table: Table) -> None:
    text = csv_of(table, [report(sessions=6)], str)
    assert text == (GOLDEN / f"progress-{table}.csv").read_text(encoding="utf-8")


def test_what_was_said_instead_and_promptness_by_flow_are_in_every_form() -> None:
    told = report()
    data = student_as_data(told)
    instead = data["weakest_calls"][0]["said_instead"][0]
    row = next(csv.DictReader(io.StringIO(csv_of("calls", [told], str))))
    assert (row["said_instead"], int(row["said_instead_times"])) == (instead["said"], instead["times"])
    assert all(0.0 <= each["promptness"] <= 1.0 for each in data["by_flow"])
    flows = csv.DictReader(io.StringIO(csv_of("flows", [told], str)))
    assert all(0.0 <= float(each["promptness"]) <= 1.0 for each in flows if each["promptness"])


def test_an_instructors_view_holds_the_same_students_and_says_its_schema_once() -> None:
    one, other = report(sessions=6), report(student="Bo", sessions=3)
    found = students_as_data([one, other], 2, NOW)
    assert found["progress_schema"] == 1
    assert found["not_shown"] == 2
    assert [each["student"] for each in found["students"]] == ["Anna", "Bo"]
    assert found["students"][0].items() <= student_as_data(one).items()
    assert "progress_schema" not in found["students"][0]


def test_rows_by_kind_by_week_and_by_flow_each_come_to_the_whole() -> None:
    data = student_as_data(report())
    for name in ("by_week", "by_kind", "by_flow", "by_week_and_kind", "by_week_and_flow"):
        assert sum(row["calls"] for row in data[name]) == data["total"]["calls"]
    assert sum(row["seconds"] for row in data["by_week"]) == pytest.approx(data["seconds"], abs=0.1)


@pytest.mark.parametrize("sessions", [0, 1, 2, 9, 40])
def test_a_trend_holds_the_latest_weeks_against_all_the_others(sessions: int) -> None:
    practices = report(sessions=sessions).practices
    trend = trend_of(practices, UTC)
    before = 0 if trend.before is None else trend.before.practised
    assert before + trend.recent.practised == len(practices)
    assert (trend.before is None) == (len(trend.weeks) < 2)
    recent = [shares.practised for _, shares in trend.weeks][-RECENT_WEEKS:]
    assert trend.recent.practised <= sum(recent)
    assert sum(shares.calls for _, shares in trend.weeks) == shares_of(practices).calls


@pytest.mark.parametrize(
    ("before", "recent", "said"),
    [
        (0.5, 0.75, "up 25 from 50\u00a0%"),
        (0.9, 0.3, "down 60 from 90\u00a0%"),
        (0.901, 0.899, "as before"),
        (None, 0.5, ""),
        (0.5, None, ""),
    ],
)
def test_a_change_is_said_as_the_figures_show_it(
    before: float | None, recent: float | None, said: str
) -> None:
    assert change(before, recent) == said


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_change_never_contradicts_the_figures_beside_it(before: float, recent: float) -> None:
    points = int(percent(recent).split("\u00a0")[0]) - int(percent(before).split("\u00a0")[0])
    said = change(before, recent)
    assert said.startswith("up" if points > 0 else "down" if points < 0 else "as before")
    assert points == 0 or f" {abs(points)} " in said
