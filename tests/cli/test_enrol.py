"""`enrol`: a synthetic student who pauses inside calls; the profile, who uses it, and what becomes of it."""

from __future__ import annotations

import json
import re
import stat
from pathlib import Path

import numpy as np
import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.archive.profile_file import read_profile, write_profile
from voice_trainer.audio.ports import Samples
from voice_trainer.audio.wav import write_wav
from voice_trainer.journal.personal import Count, Personal, Profile
from voice_trainer.library.prompts import enrolment_prompts
from voice_trainer.recognition.choosing import choose_recogniser
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

PAUSE_SECONDS = 0.8
"""Between two words: longer than the usual hangover."""


def all_prompts(pause_seconds: float) -> Samples:
    """Every prompt as one voice reads it, two seconds apart, in a quiet room, with a pause after the second word."""
    voice, style = Pyttsx3Voice(), VoiceStyle("gmw/en-us")
    pause = np.zeros(int(pause_seconds * 16_000), np.int16)
    parts: list[Samples] = []
    for prompt in enrolment_prompts():
        words = prompt.said.split()
        cut = 2 if len(words) > 3 and pause_seconds else len(words)
        parts += [np.zeros(32_000, np.int16), voice.render(" ".join(words[:cut]), style)]
        if words[cut:]:
            parts += [pause, voice.render(" ".join(words[cut:]), style)]
    clean = np.concatenate(parts) // 2
    return (clean + np.random.default_rng(0).normal(0, 12, len(clean))).astype(np.int16)


@pytest.fixture(scope="module")
def enrolled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home in which somebody who pauses has enrolled."""
    home = tmp_path_factory.mktemp("enrolled")
    write_wav(home / "prompts.wav", all_prompts(PAUSE_SECONDS))
    done = voice_trainer("enrol", "--input", home / "prompts.wav", home=home, timeout=300)
    assert (done.returncode, done.stderr) == (0, ""), done.stdout + done.stderr
    (home / "enrol.txt").write_text(done.stdout)
    return home


@pytest.mark.slow
def test_who_pauses_gains_and_nothing_is_heard_wrong_for_it(enrolled: Path) -> None:
    profile = read_profile(enrolled / "profile.json")
    assert profile is not None
    assert stat.S_IMODE((enrolled / "profile.json").stat().st_mode) == 0o600
    printed = (enrolled / "enrol.txt").read_text()
    before, after = (
        re.search(rf"{word} +(\d) of 8 clear and right, (\d) clear and wrong", printed)
        for word in ("before", "after")
    )
    assert before and after, printed
    assert (profile.before.right, profile.after.right) == (int(before[1]), int(after[1]))
    assert profile.after.right >= profile.before.right + 3
    # Half of a call may be another call: cut too soon, it is now and then clear and wrong.
    assert profile.after.wrong == 0
    assert 0.75 <= profile.values.hangover_seconds <= 1.2
    assert not list(enrolled.glob("**/*.wav")) or [each.name for each in enrolled.glob("*.wav")] == [
        "prompts.wav"
    ]


@pytest.mark.slow
def test_a_session_uses_it_and_its_journal_says_so(enrolled: Path) -> None:
    arguments = ("run", "brannock-clearance", "--input=student", "--output=none", "--student-errors=none")
    profile = read_profile(enrolled / "profile.json")
    for journal, option, expected in (("with", (), profile), ("without", ("--no-profile",), None)):
        path = enrolled / f"{journal}.jsonl"
        done = voice_trainer(*arguments, *option, "--journal", path, home=enrolled, timeout=180)
        assert (done.returncode, done.stderr) == (0, "")
        assert ("Profile: of " in done.stdout) is bool(expected)
        assert read_journal(path).header.profile == expected
        # The journal stands alone: it is graded again without the profile.
        again = voice_trainer("regrade", path, home=enrolled / "elsewhere")
        assert again.returncode == 0, again.stdout


@pytest.mark.slow
def test_hear_and_doctor_show_it(enrolled: Path) -> None:
    quiet = enrolled / "quiet" / "quiet.wav"
    quiet.parent.mkdir()
    write_wav(quiet, np.zeros(16_000, np.int16))
    heard = voice_trainer("hear", quiet, "--expect", "gear down", "--json", home=enrolled)
    assert "Profile: of " in heard.stderr
    assert len(heard.stdout.splitlines()) == 1
    assert (
        "Profile"
        not in voice_trainer("hear", quiet, "--expect", "gear down", "--no-profile", home=enrolled).stderr
    )
    shown = voice_trainer("doctor", "--no-audio", "--drill=brannock-clearance", home=enrolled)
    assert "hangover" in shown.stdout
    assert "of 8 clear and right" in shown.stdout
    assert (
        "hangover"
        not in voice_trainer(
            "doctor", "--no-audio", "--no-profile", "--drill=brannock-clearance", home=enrolled
        ).stdout
    )


@pytest.mark.long
def test_who_reads_like_the_voices_it_was_set_on_gains_nothing_and_is_told(tmp_path: Path) -> None:
    write_wav(tmp_path / "prompts.wav", all_prompts(0.0))
    folder = tmp_path / "kept"
    done = voice_trainer(
        "enrol", "--input", tmp_path / "prompts.wav", "--keep", folder, home=tmp_path, timeout=300
    )
    assert (done.returncode, done.stderr) == (1, ""), done.stdout
    assert "No gain: the usual values are kept, and no profile is written." in done.stdout
    assert not (tmp_path / "profile.json").exists()
    said = [json.loads(line)["said"] for line in (folder / "manifest.jsonl").read_text().splitlines()]
    assert said == [prompt.said for prompt in enrolment_prompts()]
    assert len(list(folder.glob("*.wav"))) == 20


def profile_for(name: str, model_hash: str) -> Profile:
    count = Count(prompts=8, right=8, wrong=0)
    return Profile(
        made_utc="2026-11-25T10:00:00+00:00", engine=name, model_hash=model_hash, microphone="m",
        noise_floor_dbfs=-60, speech_dbfs=-26, values=Personal(hangover_seconds=0.9), before=count, after=count,
    )  # fmt: skip


@pytest.mark.slow
def test_a_damaged_profile_is_one_clear_line(tmp_path: Path) -> None:
    (tmp_path / "profile.json").write_text('{"profile_format": 1, "made_utc":')
    quiet = tmp_path / "quiet.wav"
    write_wav(quiet, np.zeros(16_000, np.int16))
    hear = ("hear", quiet, "--expect", "gear down", "--engine", "pocketsphinx")
    for arguments in (hear, ("run", "kelda-outbound", "--input=student", "--output=none")):
        line = one_line_of_trouble(voice_trainer(*arguments, home=tmp_path))
        assert "profile.json" in line
        assert "--no-profile" in line
    assert voice_trainer(*hear, "--no-profile", home=tmp_path).returncode == 1  # silence is no call
    assert (
        voice_trainer("run", "kelda-outbound", "--input=typed", home=tmp_path, stdin="+1\n").returncode == 0
    )
    gone = voice_trainer("enrol", "--forget", home=tmp_path)
    assert (gone.returncode, "is forgotten" in gone.stdout) == (0, True)
    assert voice_trainer(*hear, home=tmp_path).returncode == 1
    assert "There is no profile." in voice_trainer("enrol", "--forget", home=tmp_path).stdout


def test_a_profile_of_an_older_model_is_said_not_to_be_used(tmp_path: Path) -> None:
    recogniser = choose_recogniser("pocketsphinx")
    write_wav(tmp_path / "quiet.wav", np.zeros(16_000, np.int16))
    hear = ("hear", tmp_path / "quiet.wav", "--expect", "gear down", "--engine", "pocketsphinx")
    write_profile(tmp_path / "profile.json", profile_for(recogniser.name, "0" * 64))
    old = voice_trainer(*hear, home=tmp_path)
    assert (old.returncode, len(old.stderr.splitlines())) == (1, 1)
    assert "is not used: enrol again" in old.stderr
    write_profile(tmp_path / "profile.json", profile_for(recogniser.name, recogniser.model_hash))
    assert "Profile: of 2026-11-25, hangover 0.90 s" in voice_trainer(*hear, home=tmp_path).stderr


@pytest.mark.slow
def test_too_few_prompts_are_no_enrolment(tmp_path: Path) -> None:
    write_wav(tmp_path / "quiet.wav", np.zeros(1600, np.int16))
    done = voice_trainer("enrol", "--engine=pocketsphinx", "--input", tmp_path / "quiet.wav", home=tmp_path)
    assert "over at prompt 1 of 20" in one_line_of_trouble(done)
    silent = np.zeros(16_000 * 200, np.int16)
    write_wav(tmp_path / "silent.wav", silent)
    done = voice_trainer(
        "enrol", "--engine=pocketsphinx", "--input", tmp_path / "silent.wav", home=tmp_path, timeout=120
    )
    assert "nothing is heard" in one_line_of_trouble(done)
