"""The questions of the first run, answered in a person's own words, over the program's recogniser and voices."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.scenes import drill_of
from tests.session.story_run import tell
from tests.story_student import Line, turn
from voice_trainer.archive.consent_file import read_consent
from voice_trainer.archive.first_run_file import settled_questions
from voice_trainer.session.first_run import QUESTIONS

pytestmark = pytest.mark.slow

TRUCK_DB = 6.0
"""How much louder a truck is than what it passes over."""

DRILL = drill_of({"calls": [{"call": "gear", "say": "gear down"}]}, drill="gear-drill")


@pytest.mark.parametrize(
    ("to_keep", "to_check"),
    [
        ("no", "no thanks"), ("no thank you", "nope"), ("negative", "negative"), ("not now", "skip it"),
        ("none", "no"), ("nothing", "no"), ("keep none", "no"),
    ],
)  # fmt: skip
def test_no_keeps_nothing_and_skips_the_check(
    to_keep: str, to_check: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    turns = (
        turn("May I keep sound", to_keep),
        turn("Let me hear you", to_check),
        turn("Say: fly", "trainer, end"),
    )
    heard = tell(turns, [DRILL], tmp_path, questions=QUESTIONS).heard
    assert "Skipped." in heard
    assert heard[-1] == "Good bye."
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert consent.keep == "none"
    assert settled_questions(tmp_path / "first-run.json") == {question.name for question in QUESTIONS}
    # Understood the first time: nothing is asked twice.
    assert sum("keep none, keep disputed" in line for line in heard) == 1
    assert not any("Once more, please." in line for line in heard)


def test_what_is_no_clear_no_is_asked_again_and_never_taken_for_a_yes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    turns = (
        turn("May I keep sound", Line("nothing", noise="truck", noise_db=TRUCK_DB)),
        turn("Say: keep none, keep disputed", "no thank you"),
        turn("Let me hear you", "no"),
        turn("Say: fly", "trainer, end"),
    )
    assert tell(turns, [DRILL], tmp_path, questions=QUESTIONS).heard[-1] == "Good bye."
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert consent.keep == "none"


@pytest.mark.parametrize("yes", ["yes please", "affirmative"])
def test_yes_is_asked_which(yes: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    turns = (
        turn("May I keep sound", yes),
        turn("Which? Say: keep none", "yes, keep disputed please"),
        turn("Keep disputed. Is that right", yes),
        turn("Let me hear you", yes),
        turn("Say: radio check", "radio check one two three"),
        turn("Say: fly", "trainer, end"),
    )
    heard = tell(turns, [DRILL], tmp_path, questions=QUESTIONS).heard
    assert "I hear you well." in heard
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert consent.keep == "disputed"
