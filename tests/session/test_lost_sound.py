"""Which hearings sound was lost in."""

from __future__ import annotations

import pytest

from voice_trainer.journal.events import Heard, ListeningStarted
from voice_trainer.journal.hearing import Hearing
from voice_trainer.session.lost_sound import LostSound


def heard(start_seconds: float, end_seconds: float) -> Heard:
    hearing = Hearing(start_seconds=start_seconds, end_seconds=end_seconds, clarity="clear", engine="test")
    return Heard(at_seconds=end_seconds + 0.7, hearing=hearing)


def clarity(lost: LostSound, fact: Heard) -> str:
    judged = lost.judge(fact)
    assert isinstance(judged, Heard)
    return judged.hearing.clarity


@pytest.mark.parametrize(
    ("lost_from", "lost_until", "expected"),
    [
        (5.5, 5.8, "unclear"),
        (5.5, 5.6, "clear"),  # a crackle
        (4.0, 5.1, "unclear"),  # the beginning
        (6.4, 9.0, "unclear"),  # found a little after it was
        (2.0, 4.9, "clear"),
        (7.0, 9.0, "clear"),
    ],
)
def test_speech_that_sound_was_lost_in_is_unclear(lost_from: float, lost_until: float, expected: str) -> None:
    lost = LostSound()
    lost.lose(lost_from, lost_until)
    assert clarity(lost, heard(5.0, 6.0)) == expected


def test_small_losses_add_up() -> None:
    lost = LostSound()
    for block in range(6):
        lost.lose(5.2 + 0.1 * block, 5.232 + 0.1 * block)
    assert clarity(lost, heard(5.0, 6.0)) == "clear"
    lost.lose(5.9, 5.932)
    assert clarity(lost, heard(5.0, 6.0)) == "unclear"
    assert clarity(lost, heard(8.0, 9.0)) == "clear"


def test_speech_that_a_device_took_along_is_unclear() -> None:
    lost = LostSound()
    lost.break_off(5.5)
    assert clarity(lost, heard(5.0, 6.0)) == "unclear"
    assert clarity(lost, heard(6.0, 7.0)) == "clear"


def test_other_facts_are_as_they_were() -> None:
    lost = LostSound()
    lost.lose(0.0, 9.0)
    fact = ListeningStarted(at_seconds=5.0)
    assert lost.judge(fact) is fact
