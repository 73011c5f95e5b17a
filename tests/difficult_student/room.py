"""One session of a difficult student without sound, in virtual time: the sequencer, the exchange and the ears are real.

The trainer's mouth is silent and takes as long as its words do. The sequencer is told the time when something has
happened, and else every quarter of a second: what it decides does not depend on how often it is asked.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

from tests.difficult_student.clean_ears import CleanEars
from tests.difficult_student.manners import Plan
from tests.difficult_student.numbered_words import (
    BLOCK_SECONDS,
    EverybodyIsNear,
    KnownActivity,
    NumberedRecogniser,
    WordTrack,
)
from tests.difficult_student.student import DifficultStudent
from voice_trainer.audio.ports import BLOCK_SAMPLES, Block
from voice_trainer.grading.matcher import Tick
from voice_trainer.journal.events import (
    AnyDecision,
    AnyFact,
    CueEnded,
    CueStarted,
    Ended,
    at,
)
from voice_trainer.sequencing.commands import FallSilent, Finish, Sound, Speak
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.ears import Ears
from voice_trainer.session.exchange import Exchange
from voice_trainer.session.foresight import DrillForesight
from voice_trainer.session.mouth import ROOM_TAIL_SECONDS
from voice_trainer.session.silent import SECONDS_A_WORD

TICK_SECONDS = 0.25
ASTRAY_AFTER_SECONDS = 1500.0
FAST = 2.0
"""The trainer speaks so much faster than it would: its cues are not what is tested."""

SILENCE = np.zeros(BLOCK_SAMPLES, np.int16)


@dataclass
class _Sounding:
    speak: Speak
    ends: float
    started: bool = False


class SilentMouth:
    """What an `Exchange` needs of a mouth; cues take as long as their words."""

    def __init__(self) -> None:
        self._queue: deque[Speak] = deque()
        self._sounding: _Sounding | None = None
        self._quiet_since = float("-inf")

    @property
    def speaks(self) -> bool:
        return self._sounding is not None or bool(self._queue)

    @property
    def idle(self) -> bool:
        return not self.speaks

    def speak(self, speak: Speak) -> None:
        self._queue.append(speak)

    def fall_silent(self, now_seconds: float) -> list[CueEnded]:
        dropped = [CueEnded(at_seconds=at(now_seconds), cue=each.cue, complete=False) for each in self._queue]
        self._queue.clear()
        if self._sounding is not None:
            self._sounding.ends = min(self._sounding.ends, now_seconds)
        return dropped

    def is_heard_in_the_room(self, now_seconds: float) -> bool:
        return self.speaks or now_seconds < self._quiet_since + ROOM_TAIL_SECONDS

    def poll(self, now_seconds: float) -> list[CueStarted | CueEnded]:
        facts: list[CueStarted | CueEnded] = []
        if self._sounding is not None and self._sounding.ends <= now_seconds:
            ends = max(self._sounding.ends, now_seconds - BLOCK_SECONDS)
            facts.append(CueEnded(at_seconds=at(ends), cue=self._sounding.speak.cue))
            self._quiet_since = ends
            self._sounding = None
        if self._sounding is None and self._queue:
            speak = self._queue.popleft()
            seconds = SECONDS_A_WORD / speak.pace / FAST * len(speak.text.split())
            self._sounding = _Sounding(speak, now_seconds + seconds)
            facts.append(
                CueStarted(at_seconds=at(now_seconds), cue=speak.cue, speaker=speak.speaker, text=speak.text)
            )
        return facts


class _Microphone:
    """Hears the student live on, block by block."""

    name = "numbers"

    def __init__(self, track: WordTrack, student: DifficultStudent, mouth: SilentMouth) -> None:
        self._track, self._student, self._mouth = track, student, mouth
        self._next_sample = 0
        self.blocks: dict[int, np.ndarray] = {0: SILENCE}

    def read(self) -> Block:
        if self._track.quiet:
            now = self._next_sample * BLOCK_SECONDS / BLOCK_SAMPLES
            text = self._student.live_on(now, trainer_speaks=self._mouth.speaks)
            if text is not None:
                self._track.say(text)
        number = self._track.next_block()
        if number not in self.blocks:
            self.blocks[number] = np.full(BLOCK_SAMPLES, number, np.int16)
        block = Block(self._next_sample, self.blocks[number])
        self._next_sample += BLOCK_SAMPLES
        return block


def play(plan: Plan, *, clean: bool) -> list[AnyFact | AnyDecision]:
    """The records of the session; `clean`: the same meaning, told cleanly to ears that make no mistake."""
    grammar = plan.grammar
    sequencer = Sequencer(plan.drill, plan.settings)
    track = WordTrack(1.0 if clean else plan.speed)
    student = DifficultStudent(plan, track.seconds_of, clean=clean)
    mouth = SilentMouth()
    ears = (
        CleanEars(track, grammar)
        if clean
        else Ears(
            NumberedRecogniser(track, grammar),
            in_step=True,
            foresight=DrillForesight(grammar, sequencer),
            activity=KnownActivity(),
            nearness=EverybodyIsNear(),
        )
    )
    headset = plan.settings.listening == "headset"
    exchange = Exchange(_Microphone(track, student, mouth), mouth, ears, headset=headset)
    records: list[AnyFact | AnyDecision] = []
    facts: deque[AnyFact] = deque()
    over = False
    ticked = -1.0

    def take(event: AnyFact | Tick) -> None:
        nonlocal over
        outcome = sequencer.receive(event)
        records.extend(outcome.records)
        for record in outcome.records:
            student.observe(record)
        for command in outcome.commands:
            match command:
                case Speak():
                    mouth.speak(command)
                    facts.extend(exchange.mind_the_echo())
                case FallSilent():
                    facts.extend(mouth.fall_silent(exchange.now))
                case Finish(reason=reason):
                    if not over:
                        over = True
                        records.extend(
                            sequencer.receive(Ended(at_seconds=at(exchange.now), reason=reason)).records
                        )
                case Sound():
                    pass

    take(Tick(0.0))
    while not over:
        _, new = exchange.next_facts()
        facts.extend(new)
        if facts or exchange.now >= ticked + TICK_SECONDS:
            ticked = exchange.now
            while facts and not over:
                take(facts.popleft())
            if not over:
                take(Tick(exchange.now))
        assert exchange.now < ASTRAY_AFTER_SECONDS, "the session does not end"
    ears.close()
    return records
