"""A session over audio: the loop that listens, thinks, writes down and speaks, a block at a time.

The same loop runs live and in virtual time. What differs is given to it: the microphone and speaker, and
`in_step`, which makes it wait for renderings and hearings instead of going on meanwhile.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable

from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Block, DeviceLostError, Microphone
from voice_trainer.grading.matcher import Tick
from voice_trainer.journal.events import (
    AnyFact,
    Ended,
    ListeningStarted,
    ListeningStopped,
    Paused,
    Resumed,
    SamplesLost,
    at,
)
from voice_trainer.sequencing.commands import FallSilent, Finish, Sound, Speak
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.diary import Diary
from voice_trainer.session.ears import Ears
from voice_trainer.session.mouth import Mouth

RETRY_SECONDS = 1.0


class AudioSession:
    """One drill over one microphone and one speaker.

    `headset`: listen while speaking too. `on_block` is called with the session time after every block (the
    synthetic student lives by it); `say_what_happens` gets a line when a device is lost or found again.
    """

    def __init__(
        self,
        sequencer: Sequencer,
        microphone: Microphone,
        mouth: Mouth,
        ears: Ears,
        diary: Diary,
        *,
        headset: bool = False,
        on_block: Callable[[float], None] = lambda now: None,
        say_what_happens: Callable[[str], None] = lambda line: None,
        most_retries: int = 120,
    ) -> None:
        self._sequencer = sequencer
        self._microphone = microphone
        self._mouth = mouth
        self._ears = ears
        self._diary = diary
        self._headset = headset
        self._on_block = on_block
        self._say_what_happens = say_what_happens
        self._most_retries = most_retries
        self._facts: deque[AnyFact] = deque()
        self._now = 0.0
        self._over = False

    @property
    def seconds(self) -> float:
        """The session time reached."""
        return self._now

    def run(self) -> None:
        """Run the drill to its end. Raises AudioError, RecogniserError, VoiceError or ArchiveError."""
        self._work(Tick(0.0))
        while not self._over:
            try:
                self._live_through(self._microphone.read())
            except DeviceLostError as lost:
                self._wait_for_device(lost)

    def end(self, reason: str) -> None:
        """End the drill now, wherever it is."""
        if not self._over:
            self._over = True
            self._diary.write(self._sequencer.receive(Ended(at_seconds=at(self._now), reason=reason)).records)

    def speak_out(self, lines: list[Speak]) -> None:
        """After the drill: say lines one after the other, deaf to what comes in meanwhile."""
        for line in lines:
            self._mouth.speak(line)
        while not self._mouth.idle:
            try:
                block = self._microphone.read()
            except DeviceLostError:
                return
            self._now += RETRY_SECONDS if block is None else len(block.samples) / SAMPLE_RATE_HZ
            self._mouth.poll(self._now)

    def _live_through(self, block: Block | None) -> None:
        if block is None:
            self._ears.finish()
            self._facts.extend(self._ears.facts(self._now))
            self._work(Tick(self._now))
            self.end("end of the input")
            return
        self._now = block.end_seconds
        if block.lost_samples:
            self._facts.append(SamplesLost(at_seconds=at(self._now), samples=block.lost_samples))
        self._facts.extend(self._mouth.poll(self._now))
        self._ears.take(block)
        self._facts.extend(self._ears.facts(self._now))
        self._mind_the_echo()
        self._work(Tick(self._now))
        self._on_block(self._now)

    def _mind_the_echo(self) -> None:
        """Half-duplex: deaf while a cue is in the room."""
        if self._headset:
            return
        heard = self._mouth.is_heard_in_the_room(self._now)
        if heard and not self._ears.deaf:
            self._ears.deafen()
            self._facts.extend(self._ears.facts(self._now))
            self._facts.append(ListeningStopped(at_seconds=at(self._now)))
        elif not heard and self._ears.deaf:
            self._ears.listen()
            self._facts.append(ListeningStarted(at_seconds=at(self._now)))

    def _work(self, tick: Tick) -> None:
        """Every fact that waits through the sequencer, then the time itself."""
        while not self._over:
            event = self._facts.popleft() if self._facts else tick
            outcome = self._sequencer.receive(event)
            self._diary.write(outcome.records)
            for command in outcome.commands:
                self._do(command)
            if event is tick:
                break

    def _do(self, command: Speak | Sound | FallSilent | Finish) -> None:
        match command:
            case Speak():
                self._mouth.speak(command)
                self._mind_the_echo()
            case Sound(tone=tone):
                self._mouth.sound(tone)
            case FallSilent():
                self._facts.extend(self._mouth.fall_silent(self._now))
            case Finish(reason=reason):
                self.end(reason)

    def _wait_for_device(self, lost: DeviceLostError) -> None:
        """A lost device is a pause: nothing runs on, nothing is missed."""
        self._say_what_happens(f"{lost} Paused; trying again.")
        self._facts.append(Paused(at_seconds=at(self._now), reason="device lost"))
        self._work(Tick(self._now))
        for _ in range(self._most_retries):
            if self._microphone.reopen() and self._mouth.speaker.reopen():
                self._say_what_happens("The audio device is back; going on.")
                self._facts.append(Resumed(at_seconds=at(self._now)))
                return
            time.sleep(RETRY_SECONDS)
        self.end("device lost")
        raise lost
