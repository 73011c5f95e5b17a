"""The whole approach that comes with the program, flown by the synthetic student over recognised audio."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.debrief.report import debrief_of
from voice_trainer.journal.events import Flown, Position

FIX_TO_MISSED_APPROACH_NM = 4.6
GROUND_SPEED_KNOTS = 107.6  # by the wind triangle: 110 knots, course 153, wind 240 at 18


@pytest.mark.slow
def test_all_calls_are_right_and_the_flight_keeps_to_the_approach(tmp_path: Path) -> None:
    journal = tmp_path / "journal.jsonl"
    done = voice_trainer(
        "run", "kelda-vor-approach", "--input", "student", "--student-errors", "none", "--output", "none",
        "--journal", journal, home=tmp_path, timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    session = read_journal(journal)
    debrief = debrief_of(session.header, session.records, session.torn)
    verdicts = debrief.grade.verdicts
    assert len(verdicts) == 31
    assert {verdict.verdict for verdict in verdicts} == {"correct"}
    positions = [record for record in session.records if isinstance(record, Position)]
    happened = [record for record in session.records if isinstance(record, Flown)]
    fix = [record.at_seconds for record in happened if record.name == "passage KLD"][1]
    (missed,) = [r.at_seconds for r in happened if r.name == "clock 2:34" and r.at_seconds > fix]

    def distance_nm(at_seconds: float) -> float:
        nearest = min(positions, key=lambda each: abs(each.at_seconds - at_seconds))
        return math.hypot(nearest.east_nm, nearest.north_nm)

    # The procedure turn within 10 miles (AIM 5-4-9a3), nothing below an altitude that holds there.
    assert max(distance_nm(each.at_seconds) for each in positions if each.at_seconds < fix) < 10.0
    assert min(each.altitude_feet for each in positions if each.at_seconds < fix) >= 1899.0
    assert min(each.altitude_feet for each in positions) >= 819.0
    # t = 3600 d / GS; the clock starts when it is called, a few seconds after the fix.
    wanted_seconds = 3600 * FIX_TO_MISSED_APPROACH_NM / GROUND_SPEED_KNOTS
    assert missed - fix == pytest.approx(wanted_seconds, abs=6.0)
    assert distance_nm(missed) == pytest.approx(FIX_TO_MISSED_APPROACH_NM, abs=0.2)
