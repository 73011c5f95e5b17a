"""One session of a difficult student as sound: the program's own loop over audio, in virtual time."""

from __future__ import annotations

from tests.difficult_student.manners import Plan
from tests.difficult_student.spoken import clip_of
from tests.difficult_student.student import DifficultStudent
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Block, Samples
from voice_trainer.audio.virtual import ClockedSpeaker, ScheduledSource, VirtualMicrophone
from voice_trainer.journal.events import AnyDecision, AnyFact
from voice_trainer.recognition.ports import Recogniser
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.booth import Booth
from voice_trainer.session.diary import Diary
from voice_trainer.session.ears import Ears
from voice_trainer.session.foresight import DrillForesight
from voice_trainer.session.mouth import Mouth
from voice_trainer.session.run import AudioSession
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.scripted import ScriptedVoice

LONGEST_SECONDS = 900.0


class _NoPaper:
    def append(self, record: AnyFact | AnyDecision) -> None:
        """Nothing is kept but in memory."""


class _EndingMicrophone(VirtualMicrophone):
    def read(self) -> Block | None:
        assert self.read_seconds < LONGEST_SECONDS, "the session does not end"
        return super().read()


def clips_of(plan: Plan, voice: str) -> dict[str, Samples]:
    """All that the student may say, by text."""
    lines = [line for lines in plan.lines.values() for line in lines]
    texts = [
        each
        for line in (*lines, *plan.rights.values())
        for each in (*line.before, *line.how, line.text)
        if isinstance(each, str)
    ]
    return {text: clip_of(text, voice, plan.speed) for text in dict.fromkeys(texts)}


def play_sound(
    plan: Plan, voice: str, recogniser: Recogniser, *, noise_dbfs: float | None
) -> list[AnyFact | AnyDecision]:
    """The records of the session, as `voice` says it. The recogniser must have been prepared."""

    def clip(text: str) -> Samples:
        return clip_of(text, voice, plan.speed)

    student = DifficultStudent(plan, lambda text: len(clip(text)) / SAMPLE_RATE_HZ, clean=False)
    source = ScheduledSource(noise_dbfs=noise_dbfs, seed=plan.seed)
    trainer = ScriptedVoice()
    booth = Booth(trainer, Casting.of(trainer))
    mouth = Mouth(ClockedSpeaker(), booth, in_step=True)
    sequencer = Sequencer(plan.drill, plan.settings)
    ears = Ears(recogniser, in_step=True, foresight=DrillForesight(plan.grammar, sequencer))
    diary = Diary(_NoPaper(), (student.observe,))
    until = 0.0

    def on_block(now: float) -> None:
        nonlocal until
        if now < until:
            return
        text = student.live_on(now, trainer_speaks=mouth.is_heard_in_the_room(now))
        if text is not None:
            until = source.say(now, clip(text))

    session = AudioSession(
        sequencer,
        _EndingMicrophone(source),
        mouth,
        ears,
        diary,
        headset=plan.settings.listening == "headset",
        on_block=on_block,
    )
    try:
        session.run()
    finally:
        ears.close()
        booth.close()
    return diary.records
