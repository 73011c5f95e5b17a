"""Two hours in virtual time: memory stays flat, nothing is lost from the journal, and it grades the same again.

Takes three minutes of one core and more; when this was written memory grew from 83 to 85 MB.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from voice_trainer.archive.journal_file import JournalWriter, read_journal
from voice_trainer.audio.virtual import ClockedSpeaker, ScheduledSource, VirtualMicrophone
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import Ended, Header, Heard, Settings
from voice_trainer.recognition.scripted import ScriptedRecogniser
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.booth import Booth
from voice_trainer.session.diary import Diary
from voice_trainer.session.ears import Ears
from voice_trainer.session.mouth import Mouth
from voice_trainer.session.performance import perform
from voice_trainer.session.run import AudioSession
from voice_trainer.session.student import SyntheticStudent
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.scripted import ScriptedVoice

pytestmark = pytest.mark.long

STEPS = 199
EVERY_SECONDS = 33.0
SETTLED_IN_SECONDS = 900.0
MOST_GROWTH_MB = 24.0


def long_drill() -> Drill:
    call = {"call": "gear", "say": "gear down"}
    steps = [
        {
            "step": f"step {number}",
            "when": "start" if number == 0 else "settled",
            "after_seconds": EVERY_SECONDS,
            "cue": {"speaker": "instructor", "say": "go ahead"},
            "flow": {"calls": [call]},
        }
        for number in range(STEPS)
    ]
    head = {"drill": "long", "title": "Long", "kind": "radio", "trains": "endurance", "limit_seconds": 7200}
    return Drill.model_validate(head | {"steps": steps})


def resident_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * 4096 / 1e6


def test_memory_is_flat_and_the_journal_whole(tmp_path: Path) -> None:
    drill, settings, path = long_drill(), Settings(listening="headset"), tmp_path / "session.jsonl"
    clip = Pyttsx3Voice().render("gear down", VoiceStyle("gmw/en-us"))
    voice = ScriptedVoice()
    booth = Booth(voice, Casting.of(voice))
    recogniser = ScriptedRecogniser(["gear down"] * (3 * STEPS))
    recogniser.prepare(domain_of(drill), {})
    source = ScheduledSource(noise_dbfs=-66.0)
    student = SyntheticStudent(perform(drill), source.say, lambda text: clip)
    header = Header(
        program="test", session="s", started_utc="now", drill=drill.model_dump(mode="json"), settings=settings
    )
    memory: list[float] = []

    def live_on(now: float) -> None:
        student.live_on(now)
        recogniser.heard.clear()  # the fake keeps every utterance, for tests
        if now > SETTLED_IN_SECONDS and not memory:
            memory.append(resident_mb())

    ears = Ears(recogniser, in_step=True)
    with JournalWriter(path, header) as journal:
        session = AudioSession(
            Sequencer(drill, settings),
            VirtualMicrophone(source),
            Mouth(ClockedSpeaker(), booth, in_step=True),
            ears,
            Diary(journal, (student.observe,)),
            headset=True,
            on_block=live_on,
        )
        session.run()
    memory.append(resident_mb())
    booth.close()
    ears.close()
    kept = read_journal(path)
    print(
        f"\n{session.seconds:.0f} s, {len(kept.records)} records, {memory[0]:.1f} MB, then {memory[1]:.1f} MB"
    )
    assert session.seconds > 6600
    assert memory[1] - memory[0] < MOST_GROWTH_MB
    assert kept.torn is None
    assert any(isinstance(r, Ended) for r in kept.records)
    assert sum(isinstance(r, Heard) for r in kept.records) == STEPS
    assert differences(kept.records, replay(drill, settings, kept.records)) == []
    assert debrief_of(kept.header, kept.records).grade.count("correct") == STEPS
