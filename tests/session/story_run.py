"""Hands-free over recognised audio in virtual time, with a student who follows a story."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from rich.console import Console

from tests.story_student import Story, StoryRoom, Turn
from voice_trainer.archive.journal_file import Journal, read_journal
from voice_trainer.audio.effects import radio
from voice_trainer.cli.hands_free import HandsFree
from voice_trainer.cli.playing import play
from voice_trainer.cli.running import told
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.drills.conditions import is_met
from voice_trainer.drills.model import Drill
from voice_trainer.drills.spoken_names import by_spoken_name
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import (
    Accepted,
    AnyDecision,
    AnyFact,
    CueEnded,
    CueStarted,
    Flown,
    Jumped,
    Position,
    Settings,
)
from voice_trainer.recognition.choosing import choose_recogniser
from voice_trainer.session.booth import Booth
from voice_trainer.session.conversation import ConversationOverError
from voice_trainer.session.first_run import Question
from voice_trainer.session.studio import Studio
from voice_trainer.voices.cache import CachedVoice
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.radio_voice import RadioVoice

R = TypeVar("R", bound=AnyFact | AnyDecision)


@dataclass(frozen=True, slots=True)
class Told:
    """A story that is over: what was printed, the room, and the journals in their order."""

    printed: str
    room: StoryRoom
    journals: list[Journal]

    @property
    def heard(self) -> list[str]:
        """All that the trainer said, in its order."""
        return self.room.story.heard


class Session:
    """One journal, asked about what happened in it."""

    def __init__(self, told: Told, number: int) -> None:
        self.journal = told.journals[number]
        self.records = self.journal.records
        self.debrief = debrief_of(self.journal.header, self.records)
        self.grade = self.debrief.grade
        self.verdicts = {(v.step, v.call): v for v in self.grade.verdicts}

    def all(self, kind: type[R]) -> list[R]:
        return [record for record in self.records if isinstance(record, kind)]

    def verdict(self, step: str, call: str) -> str:
        return self.verdicts[step, call].verdict

    def accepted(self, step: str, call: str) -> list[Accepted]:
        return [a for a in self.all(Accepted) if (a.step, a.call) == (step, call)]

    def cue(self, text: str) -> CueStarted:
        return next(c for c in self.all(CueStarted) if text in c.text)

    def end_of(self, cue: CueStarted) -> float:
        return next(
            c.at_seconds for c in self.all(CueEnded) if c.cue == cue.cue and c.at_seconds > cue.at_seconds
        )

    def flown(self, name: str, after: float = 0.0) -> float:
        return next(f.at_seconds for f in self.all(Flown) if is_met(name, f.name) and f.at_seconds > after)

    def left_out(self, since: float, until: float) -> float:
        """How much of the flight was left out between two moments."""
        return sum(j.seconds for j in self.all(Jumped) if since < j.at_seconds <= until)

    def position(self, at_seconds: float) -> Position:
        return min(self.all(Position), key=lambda p: abs(p.at_seconds - at_seconds))

    def between(self, since: float, until: float) -> list[AnyFact | AnyDecision]:
        return [r for r in self.records if since <= r.at_seconds <= until]


def tell(
    turns: Iterable[Turn],
    drills: Sequence[Drill],
    folder: Path,
    *,
    questions: Sequence[Question] = (),
    settings: Settings | None = None,
    noise_dbfs: float = -66.0,
) -> Told:
    """Play a story hands-free to its end; VOICE_TRAINER_HOME must be `folder`. `noise_dbfs` is how loud the room is.

    Every journal is replayed to the byte.
    """
    settings = settings or Settings(input="mic", listening="headset")

    def hands_free(studio: Studio, out: Console) -> None:
        HandsFree(studio, out, settings, by_spoken_name(drills), (), None).run(list(questions))

    return _told(turns, folder, noise_dbfs, hands_free)


def fly(turns: Iterable[Turn], drill: Drill, folder: Path, settings: Settings) -> Told:
    """Play a story that is one drill, begun without the menu."""

    def one_drill(studio: Studio, out: Console) -> None:
        play(
            studio,
            drill,
            settings,
            folder / "journals" / "story.jsonl",
            out,
            tell=lambda debrief: told(debrief, out, aloud=True),
        )

    return _told(turns, folder, -66.0, one_drill)


def _told(
    turns: Iterable[Turn], folder: Path, noise_dbfs: float, run: Callable[[Studio, Console], None]
) -> Told:
    story = Story(turns)
    room = StoryRoom(story, noise_dbfs=noise_dbfs)
    voice = Pyttsx3Voice()
    known = room.voice(RadioVoice(CachedVoice(voice, folder / "cache"), radio))
    booth = Booth(known, Casting.of(voice))
    studio = Studio(
        room.microphone, room.speaker, booth, choose_recogniser(), headset=True, sleep_watch=room.sleep_watch
    )
    printed = io.StringIO()
    try:
        run(studio, Console(file=printed, width=1000))
    except ConversationOverError:
        printed.write("(over)")
    finally:
        studio.close()
        booth.close()
    print(printed.getvalue())
    kept = sorted((folder / "journals").glob("*.jsonl"), key=lambda path: path.stat().st_mtime)
    journals = [read_journal(path) for path in kept]
    for journal in journals:
        drill = Drill.model_validate(journal.header.drill)
        again = replay(drill, journal.header.settings, journal.records)
        assert differences(journal.records, again) == [], journal.header.session
    assert story.waits_for is None, f"never heard: {story.waits_for!r}; last: {story.heard[-3:]}"
    return Told(printed.getvalue(), room, journals)
