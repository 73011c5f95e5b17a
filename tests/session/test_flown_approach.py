"""Approaches and holds as they are derived, flown by the synthetic student over recognised audio.

Two in CI, the others on demand; `scripts/bench library` prints them as a table.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.archive.journal_file import Journal, read_journal
from voice_trainer.debrief.report import debrief_of
from voice_trainer.journal.events import Flown, Position
from voice_trainer.library.flown import builtin_procedures

FLOWN_IN_CI = ("kelda-vor-15", "dunmar-rnav-22")
WIND = "240/18"

MOST_UNCLEAR = 0.05
"""Of the calls of an approach: what was not made out twice is left out of its score."""

FIX_TO_MISSED_APPROACH_NM = 4.6
GROUND_SPEED_KNOTS = 107.6  # by the wind triangle: 110 knots, course 153, wind 240 at 18


def flown(procedure: str, folder: Path) -> Journal:
    journal = folder / "journal.jsonl"
    done = voice_trainer(
        "run", procedure, "--input", "student", "--student-errors", "none", "--output", "none", "--wind", WIND,
        "--mode", "fly-through", "--amend", "no", "--journal", journal, home=folder, timeout=900,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return read_journal(journal)


def check_the_kelda_approach(session: Journal) -> None:
    """The procedure turn within 10 miles (AIM 5-4-9a3), nothing below an altitude that holds there, 3600 d / GS."""
    positions = [record for record in session.records if isinstance(record, Position)]
    happened = [record for record in session.records if isinstance(record, Flown)]
    fix = [record.at_seconds for record in happened if record.name == "passage KLD"][1]
    missed = next(r.at_seconds for r in happened if r.name == "clock 2:34" and r.at_seconds > fix)

    def distance_nm(at_seconds: float) -> float:
        nearest = min(positions, key=lambda each: abs(each.at_seconds - at_seconds))
        return math.hypot(nearest.east_nm, nearest.north_nm)

    assert max(distance_nm(each.at_seconds) for each in positions if each.at_seconds < fix) < 10.0
    assert min(each.altitude_feet for each in positions if each.at_seconds < fix) >= 1899.0
    assert min(each.altitude_feet for each in positions) >= 819.0
    # The clock starts when it is called, a few seconds after the fix.
    wanted_seconds = 3600 * FIX_TO_MISSED_APPROACH_NM / GROUND_SPEED_KNOTS
    assert missed - fix == pytest.approx(wanted_seconds, abs=6.0)
    assert distance_nm(missed) == pytest.approx(FIX_TO_MISSED_APPROACH_NM, abs=0.2)


@pytest.mark.slow
@pytest.mark.parametrize(
    "procedure",
    [
        name if name in FLOWN_IN_CI else pytest.param(name, marks=pytest.mark.long)
        for name in sorted(builtin_procedures())
    ],
)
def test_no_call_is_graded_wrong_and_the_flight_keeps_to_the_procedure(
    procedure: str, tmp_path: Path
) -> None:
    session = flown(procedure, tmp_path)
    debrief = debrief_of(session.header, session.records, session.torn)
    verdicts = [verdict.verdict for verdict in debrief.grade.verdicts]
    assert set(verdicts) <= {"correct", "unclear"}, [
        v for v in debrief.grade.verdicts if v.verdict != "correct"
    ]
    assert verdicts.count("unclear") <= MOST_UNCLEAR * len(verdicts)
    assert debrief.deviations == ()
    if procedure == "kelda-vor-15":
        check_the_kelda_approach(session)
