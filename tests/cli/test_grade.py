"""A recording is graded as the session was that it was recorded in, or in order where its journal is not given."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.audio.ports import SAMPLE_RATE_HZ
from voice_trainer.audio.wav import read_wav, write_wav
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay

DRILL = "brannock-clearance"


def verdicts(path: Path) -> dict[str, str]:
    journal = read_journal(path)
    drill = Drill.model_validate(journal.header.drill)
    assert differences(journal.records, replay(drill, journal.header.settings, journal.records)) == []
    return {
        f"{v.step}/{v.call}": v.verdict for v in debrief_of(journal.header, journal.records).grade.verdicts
    }


def graded_journal(home: Path, printed: str) -> Path:
    return Path(
        next(line for line in printed.splitlines() if line.startswith("Journal: "))[len("Journal: ") :]
    )


@pytest.mark.slow
def test_along_its_journal_a_recording_has_the_verdicts_of_its_session(tmp_path: Path) -> None:
    recording, journal = tmp_path / "said.wav", tmp_path / "session.jsonl"
    student = ("--input=student", "--output=none", "--mode=fly-through")
    kept = ("--record", recording, "--journal", journal)
    run = voice_trainer("run", DRILL, *student, *kept, home=tmp_path, timeout=240)
    assert run.returncode == 0, run.stderr
    live = verdicts(journal)
    assert "wrong value" in live.values()

    along = voice_trainer("grade", DRILL, recording, "--journal", journal, home=tmp_path, timeout=240)
    assert along.returncode == 0, along.stderr
    assert "Graded along the journal of session" in along.stdout
    assert "is it whole" not in along.stdout
    assert verdicts(graded_journal(tmp_path, along.stdout)) == live

    # As a telephone or a mixer would have recorded it: another rate, two channels.
    stereo = np.stack([soxr.resample(read_wav(recording), SAMPLE_RATE_HZ, 44_100)] * 2, axis=1)
    soundfile.write(tmp_path / "stereo.wav", stereo, 44_100)
    other = voice_trainer(
        "grade", DRILL, tmp_path / "stereo.wav", "--journal", journal, home=tmp_path, timeout=240
    )
    assert other.returncode == 0, other.stderr
    resampled = verdicts(graded_journal(tmp_path, other.stdout))
    # What is just clear in one sound may be just unclear in another; never is it wrong.
    astray = {call: verdict for call, verdict in resampled.items() if verdict != live[call]}
    assert len(astray) <= 1
    assert set(astray.values()) <= {"unclear", "missed", "incomplete"}

    in_order = voice_trainer("grade", DRILL, recording, home=tmp_path, timeout=240)
    assert in_order.returncode == 0, in_order.stderr
    assert "Graded in order, without a journal" in in_order.stdout
    without = verdicts(graded_journal(tmp_path, in_order.stdout))
    assert not {"late", "early"} & set(without.values())
    assert {call for call, verdict in live.items() if verdict == "wrong value"} == {
        call for call, verdict in without.items() if verdict == "wrong value"
    }


def test_the_journal_must_be_of_the_drill(tmp_path: Path) -> None:
    write_wav(tmp_path / "quiet.wav", np.zeros(16_000, np.int16))
    voice_trainer("run", DRILL, "--input=typed", home=tmp_path, stdin="+1\n")
    (journal,) = (tmp_path / "journals").iterdir()
    said = one_line_of_trouble(
        voice_trainer("grade", "kelda-outbound", tmp_path / "quiet.wav", "--journal", journal, home=tmp_path)
    )
    assert "its drill is 'brannock-clearance', not 'kelda-outbound'" in said


@pytest.mark.parametrize(
    "arguments", [("no-such-drill", "quiet.wav"), (DRILL, "absent.wav"), (DRILL, "empty.wav")]
)
def test_what_can_not_be_graded_is_one_line(arguments: tuple[str, str], tmp_path: Path) -> None:
    write_wav(tmp_path / "quiet.wav", np.zeros(16_000, np.int16))
    (tmp_path / "empty.wav").touch()
    one_line_of_trouble(voice_trainer("grade", arguments[0], tmp_path / arguments[1], home=tmp_path))
    assert not (tmp_path / "journals").exists()
