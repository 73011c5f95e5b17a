"""The floor's tables: every pair of state and event, the legal and the illegal ones."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.journal.events import (
    CueEnded,
    CueStarted,
    Heard,
    SpeechDropped,
    SpeechEnded,
    SpeechStarted,
)
from voice_trainer.journal.hearing import Hearing
from voice_trainer.sequencing.floor import (
    STUDENT,
    TRAINER,
    CueGiven,
    Floor,
    IllegalEventError,
    Student,
    Trainer,
)

HEARING = Hearing(start_seconds=0, end_seconds=1, clarity="not a call", engine="none")
EVENTS = (
    CueGiven(),
    CueStarted(at_seconds=0, cue="c", speaker="instructor", text="t"),
    CueEnded(at_seconds=0, cue="c"),
    SpeechStarted(at_seconds=0, onset_seconds=0),
    SpeechDropped(at_seconds=0),
    SpeechEnded(at_seconds=0, start_seconds=0, end_seconds=0),
    Heard(at_seconds=0, hearing=HEARING),
)
FLOORS = [Floor(trainer, student) for trainer, student in itertools.product(Trainer, Student)]


@pytest.mark.parametrize("floor", FLOORS, ids=lambda f: f"{f.trainer.value}, {f.student.value}")
@pytest.mark.parametrize("event", EVENTS, ids=lambda e: type(e).__name__)
def test_what_is_not_in_a_table_raises(floor: Floor, event: object) -> None:
    kind = type(event)
    legal = (floor.trainer, kind) in TRAINER or (floor.student, kind) in STUDENT
    if legal:
        after = floor.after(event)  # type: ignore[arg-type]
        assert after != floor
        assert (after.trainer == floor.trainer) or (after.student == floor.student)
    else:
        with pytest.raises(IllegalEventError, match=kind.__name__):
            floor.after(event)  # type: ignore[arg-type]


def test_a_cue_that_can_wait_waits_for_both_and_an_urgent_one_for_the_trainer_only() -> None:
    for floor in FLOORS:
        silent = floor.trainer is Trainer.SILENT
        assert floor.is_free_for(urgent=True) == silent
        assert floor.is_free_for(urgent=False) == (
            silent and floor.student in (Student.SILENT, Student.DOUBTED)
        )


@given(st.lists(st.sampled_from(EVENTS), max_size=30))
def test_whatever_is_legal_leads_back_to_silence(events: list[object]) -> None:
    floor = Floor()
    for event in events:
        try:
            floor = floor.after(event)  # type: ignore[arg-type]
        except IllegalEventError:
            continue
    way_out = (EVENTS[1], EVENTS[2], EVENTS[5], EVENTS[6], EVENTS[5], EVENTS[6])
    for event in way_out:
        try:
            floor = floor.after(event)  # type: ignore[arg-type]
        except IllegalEventError:
            continue
    assert floor == Floor()
