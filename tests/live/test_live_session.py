"""The unmodified program, live: a private PulseAudio, and a student that reacts to the cues it hears.

Both drills, with deliberate mistakes, once live, once in virtual time, and once from the recording of the live
session. Live and recorded agree in every verdict and in times. In virtual time the sound is not quite the same,
and what is on the edge of being made out may fall to the other side: then, and only then, verdicts may differ,
and never so that a call that was said right is graded wrong.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from tests.live.reacting_student import ReactingStudent
from tests.pulse import PrivatePulse, Samples
from voice_trainer.archive.journal_file import Journal, read_journal
from voice_trainer.audio.effects import radio
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import CueEnded, CueStarted, Heard, ListeningStopped
from voice_trainer.library.builtin import find_drill
from voice_trainer.session.cues import cues_of
from voice_trainer.session.performance import MISTAKES, perform
from voice_trainer.voices.cache import CachedVoice
from voice_trainer.voices.casting import Casting, Role
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.radio_voice import RadioVoice

pytestmark = [pytest.mark.live, pytest.mark.slow]

SEED = 5
RECORDED_AGREES_WITHIN_SECONDS = 0.25
VIRTUAL_AGREES_WITHIN_SECONDS = 3.0
"""The reacting student must hear that a cue has ended, and it takes its time between two calls."""


def verdicts(journal: Journal) -> dict[tuple[str, str], str]:
    debrief = debrief_of(journal.header, journal.records)
    return {(v.step, v.call): v.verdict for v in debrief.grade.verdicts}


def doubts_of(journal: Journal) -> int:
    """How many utterances could not be made out for sure."""
    return sum(isinstance(r, Heard) and r.hearing.clarity != "clear" for r in journal.records)


def moments(journal: Journal) -> dict[tuple[str, str], float]:
    """When each call was begun, on the session clock."""
    verdicts = debrief_of(journal.header, journal.records).grade.verdicts
    return {(v.step, v.call): v.onset_seconds for v in verdicts if v.onset_seconds is not None}


def onsets(journal: Journal) -> dict[tuple[str, str], float]:
    """When each call was begun, in seconds after the end of its step's cue."""
    ends = {r.cue: r.at_seconds for r in journal.records if isinstance(r, CueEnded)}
    return {key: moment - ends[key[0]] for key, moment in moments(journal).items()}


def is_deaf_while_it_speaks(journal: Journal) -> bool:
    """Whether listening had stopped before every cue, and only just."""
    stops = [r.at_seconds for r in journal.records if isinstance(r, ListeningStopped)]
    starts = [r.at_seconds for r in journal.records if isinstance(r, CueStarted)]
    return all(any(0 <= start - stop < 1.0 for stop in stops) for start in starts)


def play_live(drill: Drill, folder: Path) -> tuple[Journal, ReactingStudent]:
    voice = RadioVoice(CachedVoice(Pyttsx3Voice(), folder / "cache" / "voices"), radio)
    casting = Casting.of(voice)

    def render(role: Role, text: str) -> Samples:
        return voice.render(text, casting.style(role))

    clips = {text: render(role, text) for role, text in cues_of(drill)}
    performance = perform(drill, seed=SEED, mistakes=MISTAKES)
    with PrivatePulse() as pulse:
        student = ReactingStudent(pulse, drill, performance, clips, lambda text: render("student", text))
        student.start()
        done = voice_trainer(
            "run",
            drill.drill,
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
    assert found["live"] == found["recorded"]  # the same sound: whatever was made out, both made it out alike
    wanted = {(m.step, m.call): m.verdict for m in made}
    for way, journal in journals.items():
        doubts = doubts_of(journal)
        astray = {key: v for key, v in found[way].items() if v != wanted.get(key, "correct")}
        print(
            f"{name}, {way}: {doubts} utterances in doubt, {len(astray)} verdicts other than deserved: {astray}"
        )
        # A call that was said right is never graded wrong, and a doubt costs no more than what it was about.
        assert set(astray.values()) <= {"unclear", "missed", "incomplete"}, way
        assert len(astray) <= 2 * doubts, way

    assert is_deaf_while_it_speaks(live)

    same_sound = {way: moments(journals[way]) for way in ("live", "recorded")}
    for key, moment in same_sound["live"].items():
        assert same_sound["recorded"][key] == pytest.approx(moment, abs=RECORDED_AGREES_WITHIN_SECONDS)
    times = {way: onsets(journal) for way, journal in journals.items()}
    clear = [
        key
        for key in times["live"]
        if found["live"][key] == found["virtual"].get(key) == wanted.get(key, "correct")
    ]
    assert len(clear) >= len(wanted)
    for key in clear:
        if not doubts_of(live) + doubts_of(journals["virtual"]):
            assert times["virtual"][key] == pytest.approx(
                times["live"][key], abs=VIRTUAL_AGREES_WITHIN_SECONDS
            )

    for way, journal in journals.items():
        again = replay(drill, journal.header.settings, journal.records)
        assert differences(journal.records, again) == [], way
    assert student.unknown_sounds <= 2  # the spoken debrief is not among the cues it knows
