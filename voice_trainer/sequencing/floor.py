"""The floor: who speaks now, and who may.

Two small machines side by side, one for the trainer's voice and one for the student's. Their tables are the
whole of their behaviour: a pair that is not in a table is illegal, and raises. A cue that can wait is given
the floor when both are silent; an urgent one needs only the trainer's own silence.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from typing import TypeVar

from voice_trainer.journal.events import (
    CueEnded,
    CueStarted,
    Fact,
    Heard,
    SpeechDoubted,
    SpeechDropped,
    SpeechEnded,
    SpeechStarted,
)

T = TypeVar("T")


class IllegalEventError(RuntimeError):
    """An event that can't happen in this state: a fault in the program around the sequencer."""


class Trainer(Enum):
    """The trainer's voice."""

    SILENT = "silent"
    ABOUT_TO_SPEAK = "about to speak"
    SPEAKING = "speaking"


class Student(Enum):
    """The student's voice. AWAITED: silent again, what was said is still being recognised.

    SPEAKING_AGAIN: speaks while an earlier utterance is still being recognised, or may still go on. DOUBTED: somebody
    speaks, but it is no call as far as it was heard.
    """

    SILENT = "silent"
    SPEAKING = "speaking"
    AWAITED = "awaited"
    SPEAKING_AGAIN = "speaking again"
    DOUBTED = "saying what is no call"


@dataclass(frozen=True, slots=True)
class CueGiven:
    """The trainer has been told to speak (the sequencer's own doing, never journaled)."""


TRAINER: dict[tuple[Trainer, type], Trainer] = {
    (Trainer.SILENT, CueGiven): Trainer.ABOUT_TO_SPEAK,
    (Trainer.ABOUT_TO_SPEAK, CueStarted): Trainer.SPEAKING,
    (Trainer.ABOUT_TO_SPEAK, CueEnded): Trainer.SILENT,  # stopped before it began
    (Trainer.SPEAKING, CueEnded): Trainer.SILENT,
}

STUDENT: dict[tuple[Student, type], Student] = {
    (Student.SILENT, SpeechStarted): Student.SPEAKING,
    (Student.SPEAKING, SpeechDropped): Student.SILENT,
    (Student.SPEAKING, SpeechEnded): Student.AWAITED,
    (Student.SPEAKING, SpeechDoubted): Student.DOUBTED,
    (Student.DOUBTED, SpeechDropped): Student.SILENT,
    (Student.DOUBTED, SpeechEnded): Student.AWAITED,
    (Student.AWAITED, Heard): Student.SILENT,
    (Student.AWAITED, SpeechStarted): Student.SPEAKING_AGAIN,
    (Student.SPEAKING_AGAIN, SpeechDropped): Student.AWAITED,
    (Student.SPEAKING_AGAIN, Heard): Student.SPEAKING,
    (Student.SPEAKING_AGAIN, SpeechEnded): Student.AWAITED,  # both are one utterance
}


@dataclass(frozen=True, slots=True)
class Floor:
    """Both machines at one moment."""

    trainer: Trainer = Trainer.SILENT
    student: Student = Student.SILENT

    def after(self, event: Fact | CueGiven) -> Floor:
        """The floor after `event`; raises IllegalEventError."""
        kind = type(event)
        if kind in {k for _, k in TRAINER}:
            if (self.trainer, kind) not in TRAINER:
                raise IllegalEventError(f"{kind.__name__} while the trainer is {self.trainer.value}")
            return replace(self, trainer=TRAINER[self.trainer, kind])
        if kind in {k for _, k in STUDENT}:
            if (self.student, kind) not in STUDENT:
                raise IllegalEventError(f"{kind.__name__} while the student is {self.student.value}")
            return replace(self, student=STUDENT[self.student, kind])
        return self

    def made_ready_for(self, event: Fact | CueGiven) -> Floor:
        """A floor on which `event` can come: what goes on after a fault. It is this one where it can come already."""
        kind = type(event)
        trainer = self.trainer if (self.trainer, kind) in TRAINER else _first(TRAINER, kind)
        student = self.student if (self.student, kind) in STUDENT else _first(STUDENT, kind)
        return Floor(trainer or self.trainer, student or self.student)

    def is_free_for(self, *, urgent: bool) -> bool:
        """Whether the trainer may begin to speak."""
        return self.trainer is Trainer.SILENT and (
            urgent or self.student in (Student.SILENT, Student.DOUBTED)
        )


def _first(table: Mapping[tuple[T, type], T], kind: type) -> T | None:
    return next((state for state, each in table if each is kind), None)
