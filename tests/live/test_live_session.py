"""The unmodified program, live: a private PulseAudio, and a student that reacts to the cues it hears.

A radio drill, and on demand a flown one, with deliberate mistakes, once live, once in virtual time, and once from the
recording of the live session. They agree in verdicts, order and times up to the first utterance that could not be made
out: there the trainer asks again, and a recorded student can't wait for that. In none of them, ever, is a call that was
said right graded wrong.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from tests.live.reacting_student import Performing, ReactingStudent
from tests.pulse import PrivatePulse, Samples
from voice_trainer.archive.journal_file import Journal, read_journal
from voice_trainer.audio.effects import radio
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import (
    CueEnded,
    CueStarted,
    Ended,
    Heard,
    ListeningStarted,
    ListeningStopped,
)
from voice_trainer.library.builtin import find_drill
from voice_trainer.session.cues import cues_of
from voice_trainer.session.performance import MISTAKES, Line, perform
from voice_trainer.voices.cache import CachedVoice
from voice_trainer.voices.casting import Casting, Role
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.radio_voice import RadioVoice

pytestmark = [pytest.mark.live, pytest.mark.slow]

SEED = 5
RECORDED_AGREES_WITHIN_SECONDS = 0.25
VIRTUAL_AGREES_WITHIN_SECONDS = 3.0
"""The reacting student must hear that a cue has ended, and hears out the tone after each call: about 0.9 s a call, on a
slow machine 1.9."""


def verdicts(journal: Journal) -> dict[tuple[str, str], str]:
    debrief = debrief_of(journal.header, journal.records)
    return {(v.step, v.call): v.verdict for v in debrief.grade.verdicts}


def doubts_of(journal: Journal) -> list[float]:
    """When there were utterances that could not be made out for sure."""
    return [r.at_seconds for r in journal.records if isinstance(r, Heard) and r.hearing.clarity != "clear"]


def moments(journal: Journal) -> dict[tuple[str, str], float]:
    """When each call was begun, on the session clock."""
    verdicts = debrief_of(journal.header, journal.records).grade.verdicts
    return {(v.step, v.call): v.onset_seconds for v in verdicts if v.onset_seconds is not None}


def waits(journal: Journal) -> dict[tuple[str, str], float]:
    """How long after the end of its step's cue, or the onset of the call before it in the step, each call began."""
    since = {r.cue: r.at_seconds for r in journal.records if isinstance(r, CueEnded)}
    found: dict[tuple[str, str], float] = {}
    for key, moment in sorted(moments(journal).items(), key=lambda entry: entry[1]):
        found[key] = moment - since[key[0]]
        since[key[0]] = moment
    return found


def is_deaf_while_it_speaks(journal: Journal) -> bool:
    """Whether listening had stopped before every cue of the drill, and not begun again."""
    over = next((r.at_seconds for r in journal.records if isinstance(r, Ended)), math.inf)
    turns = [r for r in journal.records if isinstance(r, ListeningStopped | ListeningStarted)]
    starts = [r.at_seconds for r in journal.records if isinstance(r, CueStarted) and r.at_seconds <= over]
    last = [[turn for turn in turns if turn.at_seconds <= start][-1:] for start in starts]
    return all(before and isinstance(before[0], ListeningStopped) for before in last)


def play_live(drill: Drill, folder: Path) -> tuple[Journal, ReactingStudent[Line]]:
    voice = RadioVoice(CachedVoice(Pyttsx3Voice(), folder / "cache" / "voices"), radio)
    casting = Casting.of(voice)

    def render(role: Role, text: str) -> Samples:
        return voice.render(text, casting.style(role))

    clips = {text: render(role, text) for role, text in cues_of(drill)}
    asked = {c.ask for step in drill.steps for c in (step.flow.calls if step.flow else ()) if c.ask}
    performance = perform(drill, seed=SEED, mistakes=MISTAKES)
    with PrivatePulse() as pulse:
        student = ReactingStudent(
            pulse,
            Performing(drill, performance),
            clips,
            lambda line: render("student", line.text),
            asks=lambda text: text in asked,
        )
        student.start()
        done = voice_trainer(
            "run",
            drill.drill,
            "--mode=fly-through",  # the words of a correction are not among those that the student knows
            "--input=mic",
            "--output=speaker",
            "--microphone=trainer_microphone",
            "--speaker=trainer_speaker",
            "--journal",
            folder / "live.jsonl",
            "--record",
            folder / "live.wav",
            home=folder,
            env=pulse.env,
            timeout=drill.limit_seconds + 60,
        )
        student.stop()
    assert (done.returncode, done.stderr) == (0, ""), done.stdout + done.stderr
    return read_journal(folder / "live.jsonl"), student


@pytest.mark.long  # three minutes each; CI plays a story live and in virtual time (test_live_story)
@pytest.mark.parametrize("name", ["brannock-clearance", "kelda-outbound"])
def test_live_virtual_and_recorded_agree(name: str, tmp_path: Path) -> None:
    drill = find_drill(name)
    made = perform(drill, seed=SEED, mistakes=MISTAKES).mistakes
    live, student = play_live(drill, tmp_path)

    virtual = voice_trainer(
        "run",
        name,
        "--input=student",
        "--output=none",
        f"--seed={SEED}",
        "--mode=fly-through",
        "--journal",
        tmp_path / "v.jsonl",
        home=tmp_path,
    )
    recorded = voice_trainer(
        "run",
        name,
        "--input",
        tmp_path / "live.wav",
        "--output=none",
        "--mode=fly-through",
        "--journal",
        tmp_path / "r.jsonl",
        home=tmp_path,
    )
    assert (virtual.returncode, recorded.returncode) == (0, 0), virtual.stderr + recorded.stderr
    journals = {
        "live": live,
        "virtual": read_journal(tmp_path / "v.jsonl"),
        "recorded": read_journal(tmp_path / "r.jsonl"),
    }

    found = {way: verdicts(journal) for way, journal in journals.items()}
    wanted = {(m.step, m.call): m.verdict for m in made}
    for way, journal in journals.items():
        doubts = len(doubts_of(journal))
        astray = {key: v for key, v in found[way].items() if v != wanted.get(key, "correct")}
        print(
            f"{name}, {way}: {doubts} utterances in doubt, verdicts other than deserved: {astray or 'none'}"
        )
        # A call that was said right is never graded wrong, and without a doubt everything is as deserved.
        assert set(astray.values()) <= {"unclear", "missed", "incomplete", "late"}, way
        assert len(astray) <= 3 * doubts, way
    assert is_deaf_while_it_speaks(live)

    # Up to the first doubt (the trainer asks again, and the recorded student can't wait for that) all is the same.
    until = min((moment for journal in journals.values() for moment in doubts_of(journal)), default=math.inf)
    at = {way: moments(journal) for way, journal in journals.items()}
    waited = {way: waits(journal) for way, journal in journals.items()}
    same = [key for key, moment in at["live"].items() if moment < until - 10.0]
    assert len(same) >= 3
    for key in same:
        assert at["recorded"][key] == pytest.approx(at["live"][key], abs=RECORDED_AGREES_WITHIN_SECONDS)
        assert waited["virtual"][key] == pytest.approx(waited["live"][key], abs=VIRTUAL_AGREES_WITHIN_SECONDS)
        assert found["live"][key] == found["recorded"][key] == found["virtual"][key]

    for way, journal in journals.items():
        again = replay(drill, journal.header.settings, journal.records)
        assert differences(journal.records, again) == [], way
    assert student.unknown_sounds == 0
