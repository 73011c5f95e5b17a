"""Hands-free over recognised audio in virtual time, with a student who follows a story."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console

from tests.story_student import Story, StoryRoom, Turn
from voice_trainer.archive.journal_file import Journal, read_journal
from voice_trainer.audio.effects import radio
from voice_trainer.cli.hands_free import HandsFree
from voice_trainer.debrief.report import differences
from voice_trainer.drills.model import Drill
from voice_trainer.drills.spoken_names import by_spoken_name
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import Settings
from voice_trainer.recognition.choosing import choose_recogniser
from voice_trainer.session.booth import Booth
from voice_trainer.session.conversation import ConversationOverError
from voice_trainer.session.first_run import Question
from voice_trainer.session.studio import Studio
from voice_trainer.voices.cache import CachedVoice
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.radio_voice import RadioVoice


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


def tell(
    turns: Iterable[Turn],
    drills: Sequence[Drill],
    folder: Path,
    *,
    questions: Sequence[Question] = (),
    settings: Settings | None = None,
) -> Told:
    """Play a story to its end; VOICE_TRAINER_HOME must be `folder`. Every journal is replayed to the byte."""
    story = Story(turns)
    room = StoryRoom(story)
    voice = Pyttsx3Voice()
    known = room.voice(RadioVoice(CachedVoice(voice, folder / "cache"), radio))
    booth = Booth(known, Casting.of(voice))
    studio = Studio(
        room.microphone, room.speaker, booth, choose_recogniser(), headset=True, sleep_watch=room.sleep_watch
    )
    printed = io.StringIO()
    hands_free = HandsFree(
        studio,
        Console(file=printed, width=1000),
        settings or Settings(input="mic", listening="headset"),
        by_spoken_name(drills),
        (),
        None,
    )
    try:
        hands_free.run(list(questions))
    except ConversationOverError:
        printed.write("(over)")
    finally:
        studio.close()
        booth.close()
    (folder / "printed.txt").write_text(printed.getvalue())
    kept = sorted((folder / "journals").glob("*.jsonl"), key=lambda path: path.stat().st_mtime)
    journals = [read_journal(path) for path in kept]
    for journal in journals:
        drill = Drill.model_validate(journal.header.drill)
        again = replay(drill, journal.header.settings, journal.records)
        assert differences(journal.records, again) == [], journal.header.session
    assert story.waits_for is None, f"never heard: {story.waits_for!r}; last: {story.heard[-3:]}"
    return Told(printed.getvalue(), room, journals)
