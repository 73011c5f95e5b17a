"""Mode, level and name of the trainer as options of `run`, and orders that reach beyond one session."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.debrief.report import debrief_of


def test_again_begins_the_drill_anew_with_a_journal_of_its_own(tmp_path: Path) -> None:
    journal = tmp_path / "mine.jsonl"
    said = "+12\nturn left heading 310\ntrainer again\n+12\nturn left heading 310\n"
    done = voice_trainer(
        "run", "brannock-clearance", "--input=typed", "--journal", journal, home=tmp_path, stdin=said
    )
    assert (done.returncode, done.stderr) == (0, "")
    first, second = read_journal(journal), read_journal(tmp_path / "mine-2.jsonl")
    assert debrief_of(first.header, first.records).ended == "again"
    assert debrief_of(second.header, second.records).ended == "end of the input"
    assert "Again, from the beginning." in done.stdout


def test_the_options_are_in_the_journal_and_the_trainer_answers_to_its_name(tmp_path: Path) -> None:
    journal = tmp_path / "mine.jsonl"
    done = voice_trainer(
        "run", "kelda-outbound", "--input=typed", "--mode=fly-through", "--level=cold",
        "--trainer-name=Captain Miller", "--journal", journal,
        home=tmp_path, stdin="+40\ncaptain miller what did I miss\n+2\n",
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    settings = read_journal(journal).header.settings
    assert (settings.mode, settings.level, settings.trainer_name) == ("fly through", "cold", "captain miller")
    assert "Five so far; the last: Crossing, turn: missed; turn right heading" in done.stdout
    assert "Flag flips" not in done.stdout


def test_stop_and_correct_and_fly_through_differ_in_what_is_said_and_not_in_the_verdict(
    tmp_path: Path,
) -> None:
    said = "+12\nturn left heading 310\nmaintain 2900\ncleared approach\nHeron 24\n+60\n+60\n"
    found = {}
    for mode in ("stop-and-correct", "fly-through"):
        journal = tmp_path / f"{mode}.jsonl"
        done = voice_trainer(
            "run", "brannock-clearance", "--input=typed", f"--mode={mode}", "--journal", journal,
            home=tmp_path, stdin=said,
        )  # fmt: skip
        kept = read_journal(journal)
        verdicts = debrief_of(kept.header, kept.records).grade.verdicts
        found[mode] = ("Stop. Altitude: Said" in done.stdout, [(v.call, v.verdict) for v in verdicts])
    assert [found[mode][0] for mode in found] == [True, False]
    assert found["stop-and-correct"][1] == found["fly-through"][1]
    assert ("altitude", "wrong value") in found["fly-through"][1]


@pytest.mark.parametrize("name", ["R2", "", "[tower]", "one two three four"])
def test_what_is_no_name_is_said_in_one_line(name: str, tmp_path: Path) -> None:
    done = voice_trainer("run", "kelda-outbound", "--input=typed", f"--trainer-name={name}", home=tmp_path)
    assert "--trainer-name" in one_line_of_trouble(done)
