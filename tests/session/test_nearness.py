"""Who is near the microphone: levels by the block, without a recogniser."""

from __future__ import annotations

import numpy as np
import pytest

from voice_trainer.audio.ports import BLOCK_SAMPLES, Samples
from voice_trainer.journal.hearing import Clarity, Hearing
from voice_trainer.recognition.endpointing import BLOCK_SECONDS
from voice_trainer.session.nearness import (
    LOUD_BLOCKS,
    OTHERS_FORGOTTEN_SECONDS,
    SYLLABLE_BLOCKS,
    Nearness,
    level_dbfs,
)

STUDENT, OTHERS = -20.0, -36.0


def sound(dbfs: float, seconds: float = BLOCK_SECONDS) -> Samples:
    count = round(seconds / BLOCK_SECONDS) * BLOCK_SAMPLES
    noise = np.random.default_rng(5).normal(size=count)
    return np.rint(noise / np.sqrt(np.mean(noise**2)) * 32768 * 10 ** (dbfs / 20)).astype(np.int16)


def heard(clarity: Clarity) -> Hearing:
    return Hearing(start_seconds=0.0, end_seconds=1.0, clarity=clarity, engine="none")


def feed(nearness: Nearness, dbfs: float, seconds: float) -> list[bool]:
    return [nearness.near(sound(dbfs), True) for _ in range(round(seconds / BLOCK_SECONDS))]


def test_levels_are_decibels_below_full_scale() -> None:
    assert level_dbfs(sound(-30.0, 1.0)) == pytest.approx(-30.0, abs=0.1)
    assert level_dbfs(np.zeros(BLOCK_SAMPLES, np.int16)) == -90.0


def test_where_nobody_else_talks_a_soft_call_is_the_students() -> None:
    nearness = Nearness()
    for _ in range(4):
        nearness.learn(sound(STUDENT, 2.0), heard("clear"))
    assert all(feed(nearness, STUDENT - 18, 2.0))


def test_once_others_are_known_what_is_as_soft_as_they_are_is_theirs() -> None:
    nearness = Nearness()
    nearness.learn(sound(STUDENT, 2.0), heard("clear"))
    nearness.learn(sound(OTHERS, 3.0), heard("not a call"))
    assert not any(feed(nearness, OTHERS, 2.0))
    assert all(feed(nearness, STUDENT, 1.0)[2:])
    assert nearness.near(sound(-60.0), True)  # a soft consonant behind a loud vowel
    assert not any(feed(nearness, OTHERS, 2.0)[10:])


def test_a_loud_moment_of_others_is_not_the_student() -> None:
    nearness = Nearness()
    nearness.learn(sound(STUDENT, 2.0), heard("clear"))
    nearness.learn(sound(OTHERS, 3.0), heard("not a call"))
    feed(nearness, OTHERS, 1.0)
    assert not nearness.near(sound(STUDENT), True)
    assert not any(feed(nearness, OTHERS, 1.0))


def test_the_first_call_over_a_television_is_told_by_its_loudness() -> None:
    nearness = Nearness()
    nearness.learn(sound(OTHERS, 3.0), heard("not a call"))
    assert all(feed(nearness, OTHERS, 10.0))  # nobody louder is known: it may be the student
    feed(nearness, STUDENT, 1.0)
    assert not any(feed(nearness, OTHERS, 2.0)[10:])
    assert nearness.last_far_seconds(
        np.concatenate([sound(OTHERS, 2.0), sound(STUDENT, 1.0)])
    ) == pytest.approx(2.0, abs=0.1)


def test_a_student_who_talks_to_themselves_as_loudly_as_ever_is_not_taken_for_others() -> None:
    nearness = Nearness()
    nearness.learn(sound(STUDENT, 3.0), heard("not a call"))
    nearness.learn(sound(STUDENT + 4, 2.0), heard("clear"))
    assert all(feed(nearness, STUDENT - 3, 2.0))


def test_others_who_have_fallen_silent_are_forgotten() -> None:
    nearness = Nearness()
    nearness.learn(sound(STUDENT, 2.0), heard("clear"))
    nearness.learn(sound(OTHERS, 3.0), heard("not a call"))
    assert not any(feed(nearness, OTHERS, 1.0))
    for _ in range(round(OTHERS_FORGOTTEN_SECONDS / BLOCK_SECONDS) + 2):
        nearness.near(sound(-70.0), False)
    assert all(feed(nearness, OTHERS, 1.0))


@pytest.mark.parametrize("softer_db", [4.0, 8.0, 12.0, 15.0])
def test_a_student_who_speaks_far_more_softly_than_before_is_heard(softer_db: float) -> None:
    """Others spoke once, much more softly still: that deafens nobody."""
    nearness = Nearness()
    nearness.learn(sound(-20.0, 2.0), heard("clear"))
    nearness.learn(sound(-45.0, 3.0), heard("not a call"))
    assert all(feed(nearness, -20.0 - softer_db, 1.0)[LOUD_BLOCKS:])
    assert not any(feed(nearness, -45.0, 1.0)[SYLLABLE_BLOCKS:])
