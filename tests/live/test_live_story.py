"""A short story told live over a private sound card: a stop for a wrong value, a freeze, a dispute after the debrief.

The same story is told in virtual time first: from there the student knows how each sentence of the trainer sounds, and
both come to the same verdicts. The student pauses inside all that they say, as some do; on demand they don't, or
elsewhere.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from tests.live.reacting_student import ReactingStudent
from tests.pulse import PrivatePulse
from tests.session.story_run import fly
from tests.story_student import Line, Story, sound_of, thinking, turn
from voice_trainer.archive.journal_file import Journal, read_journal
from voice_trainer.audio.effects import radio
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import (
    CorrectionBegan,
    CueStarted,
    Disputed,
    Ended,
    Paused,
    PutRight,
    Resumed,
    Settings,
)
from voice_trainer.library.builtin import find_drill
from voice_trainer.sequencing.answers import FIXED_LINES
from voice_trainer.voices.cache import CachedVoice
from voice_trainer.voices.casting import Casting, Role
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.radio_voice import RadioVoice

pytestmark = [pytest.mark.live, pytest.mark.slow]

SILENCE_SECONDS = 0.8
"""'Stop. Heading: ...' has pauses of half a second in it."""

DRILL = Path(__file__).parents[1] / "session" / "stories" / "short-vectors.yaml"


def calmly(text: str, after_seconds: float = 0.8) -> Line:
    return Line(text, after_seconds, words_per_minute=145)


TURNS = (
    turn("turn left heading", calmly("heron two four"), calmly("turn left heading three zero one", 1.0)),
    turn("Stop.", calmly("turn left heading three one zero")),
    turn(
        "maintain two thousand six hundred",
        calmly("trainer, freeze"),
        calmly("trainer, continue", 4.0),
        calmly("maintain two thousand six hundred", 1.5),
    ),
    # The lines of a debrief follow each other closely: whichever of them was made out, it is over when all is quiet.
    turn("", calmly("I said the heading", 1.0)),
    turn("Disputed"),
)


def what_happened(journal: Journal) -> list[tuple[str, ...]]:
    """What the story is about, in its order."""
    found: list[tuple[str, ...]] = []
    for record in journal.records:
        match record:
            case Paused(reason=reason):
                found.append(("paused", reason))
            case Resumed():
                found.append(("going on",))
            case CorrectionBegan(step=step, calls=calls):
                found.append(("stopped", step, *calls))
            case PutRight(step=step, call=call):
                found.append(("put right", step, call))
            case Ended(reason=reason):
                found.append(("ended", reason))
            case Disputed(step=step, call=call):
                found.append(("disputed", step, call))
            case _:
                pass
    return found


def verdicts(journal: Journal) -> dict[tuple[str, str], str]:
    return {(v.step, v.call): v.verdict for v in debrief_of(journal.header, journal.records).grade.verdicts}


@pytest.mark.parametrize(
    "pauses", [1, *(pytest.param(seed, marks=pytest.mark.long) for seed in (None, 2, 3))]
)
def test_a_story_live_and_in_virtual_time(
    pauses: int | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    turns = TURNS if pauses is None else thinking(TURNS, pauses)
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    settings = Settings(input="mic", output="speaker", listening="headset")
    virtual = fly(turns, find_drill(str(DRILL)), tmp_path, settings).journals[0]
    voice = RadioVoice(CachedVoice(Pyttsx3Voice(), tmp_path / "cache" / "voices"), radio)
    casting = Casting.of(voice)
    roles: dict[str, Role] = dict.fromkeys(FIXED_LINES, "instructor")
    for record in virtual.records:
        if isinstance(record, CueStarted):
            roles[record.text] = record.speaker  # type: ignore[assignment]
    clips = {text: voice.render(text, casting.style(role)) for text, role in roles.items()}
    for each in turns:
        for line in each.lines:
            sound_of(line)
    story = Story(turns)
    with PrivatePulse() as pulse:
        student = ReactingStudent(pulse, story, clips, sound_of, silence_seconds=SILENCE_SECONDS)
        student.start()
        done = voice_trainer(
            "run", DRILL, "--input=mic", "--output=speaker", "--headset", "--microphone=trainer_microphone",
            "--speaker=trainer_speaker", "--journal", tmp_path / "live.jsonl",
            home=tmp_path, env=pulse.env, timeout=240,
        )  # fmt: skip
        student.stop()
    assert (done.returncode, done.stderr) == (0, ""), done.stdout + done.stderr
    live = read_journal(tmp_path / "live.jsonl")
    print(done.stdout)
    assert story.waits_for is None, (story.waits_for, student.recognised)

    wanted = [
        ("stopped", "vector", "heading"),
        ("put right", "vector", "heading"),
        ("paused", "asked by the student"),
        ("going on",),
        ("ended", "finished"),
        ("disputed", "vector", "heading"),
    ]
    for journal in (virtual, live):
        assert what_happened(journal) == wanted
        found = verdicts(journal)
        assert found["vector", "heading"] == "disputed"
        assert set(found.values()) == {"disputed", "correct"}
        again = replay(find_drill(str(DRILL)), journal.header.settings, journal.records)
        assert differences(journal.records, again) == []
    assert verdicts(live) == verdicts(virtual)
