"""A television or babble beside a student with a headset: cues come in time, and no call is graded wrong for it.

Over recognised audio in virtual time; see `tests/television.py`.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import pytest
from rich.console import Console

from tests.television import babble, television
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.audio.effects import radio
from voice_trainer.audio.ports import Samples
from voice_trainer.audio.virtual import ClockedSpeaker, ScheduledSource, VirtualMicrophone
from voice_trainer.cli.playing import play
from voice_trainer.debrief.report import differences
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import CueStarted, Settings, Settled, StepBegan
from voice_trainer.library.builtin import find_drill
from voice_trainer.recognition.choosing import choose_recogniser
from voice_trainer.session.booth import Booth
from voice_trainer.session.performance import perform
from voice_trainer.session.studio import Studio
from voice_trainer.voices.cache import CachedVoice
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.radio_voice import RadioVoice

MOST_SECONDS_LATE = 3.0


def held_against(
    noise: Samples, drills: tuple[str, ...], seconds: float, folder: Path
) -> tuple[list[str], list[str], float]:
    """Calls graded wrong, all verdicts, and by how much the latest cue came after its step began."""
    source = ScheduledSource(noise_dbfs=-66.0)
    source.say(0.0, noise)
    voice = Pyttsx3Voice()
    booth = Booth(RadioVoice(CachedVoice(voice, folder / "cache"), radio), Casting.of(voice))
    studio = Studio(
        VirtualMicrophone(source), ClockedSpeaker(), booth, choose_recogniser(), headset=True, in_step=True,
        source=source,
    )  # fmt: skip
    (folder / "journals").mkdir(exist_ok=True)
    wrong: list[str] = []
    verdicts: list[str] = []
    latest = passed = 0.0
    number = 0
    try:
        while passed < seconds:
            drill = find_drill(drills[number % len(drills)], number)
            path = folder / "journals" / f"{number}.jsonl"
            settings = Settings(input="student", listening="headset", mode="fly through", seed=number)
            performance = perform(drill, seed=number)
            play(studio, drill, settings, path, Console(file=io.StringIO()), performance=performance)
            records = read_journal(path).records
            again = replay(Drill.model_validate(drill.model_dump(mode="json")), settings, records)
            assert differences(records, again) == []
            final = {(r.step, r.call): r for r in records if isinstance(r, Settled)}.values()
            verdicts += [f"{v.step}, {v.call}: {v.verdict}" for v in final]
            wrong += [f"{v.step}, {v.call}: {v.verdict} ({v.said})" for v in final if is_wrong(v)]
            began = {r.step: r.at_seconds for r in records if isinstance(r, StepBegan)}
            waits = [
                r.at_seconds - began[r.cue] for r in records if isinstance(r, CueStarted) and r.cue in began
            ]
            latest = max([latest, *waits])
            passed += records[-1].at_seconds
            number += 1
    finally:
        studio.close()
        booth.close()
    return wrong, verdicts, latest


def is_wrong(verdict: Settled) -> bool:
    """The student says everything rightly: what is not correct, unclear or asked for again is graded wrong."""
    return verdict.verdict not in ("correct", "unclear")


Noise = Callable[[float, float], Samples]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    return tmp_path


@pytest.mark.slow
def test_a_television_makes_no_call_wrong_and_no_cue_late(home: Path) -> None:
    wrong, verdicts, latest = held_against(television(240, -44.0), ("brannock-clearance",), 20.0, home)
    assert (wrong, verdicts != []) == ([], True)
    assert latest <= MOST_SECONDS_LATE


@pytest.mark.long
@pytest.mark.parametrize("dbfs", [-35.0, -44.0, -53.0])
@pytest.mark.parametrize("noise", [television, babble])
def test_four_minutes_of_others(noise: Noise, dbfs: float, home: Path) -> None:
    drills = ("kelda-outbound", "brannock-clearance", "before-landing-checklist")
    wrong, verdicts, latest = held_against(noise(600, dbfs), drills, 240.0, home)
    print(
        f"{len(verdicts)} calls, {sum('unclear' in v for v in verdicts)} unclear, latest cue {latest:.2f} s"
    )
    assert wrong == []
    assert latest <= MOST_SECONDS_LATE
