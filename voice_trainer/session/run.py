"""A session over audio: the loop that listens, thinks, writes down and speaks, a block at a time.

The same loop runs live and in virtual time. What differs is given to it: the microphone and speaker, and
`in_step`, which makes it wait for renderings and hearings instead of going on meanwhile.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from voice_trainer.audio.ports import DeviceLostError, Microphone
from voice_trainer.grading.matcher import Tick
from voice_trainer.journal.events import (
    AnyFact,
    Ended,
    Paused,
    Resumed,
    at,
)
from voice_trainer.sequencing.commands import FallSilent, Finish, Sound, Speak
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.diary import Diary
from voice_trainer.session.ears import Ears
from voice_trainer.session.exchange import Exchange
from voice_trainer.session.mouth import Mouth


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
        self._mouth = mouth
        self._exchange = Exchange(microphone, mouth, ears, headset=headset, most_retries=most_retries)
        self._diary = diary
        self._on_block = on_block
        self._say_what_happens = say_what_happens
        self._facts: deque[AnyFact] = deque()
        self._over = False

    @property
    def seconds(self) -> float:
        """The session time reached."""
        return self._exchange.now

    def run(self) -> None:
        """Run the drill to its end. Raises AudioError, RecogniserError, VoiceError or ArchiveError."""
        self._work(Tick(0.0))
        while not self._over:
            try:
                self._live_through_next_block()
            except DeviceLostError as lost:
                self._wait_for_device(lost)

    def end(self, reason: str) -> None:
        """End the drill now, wherever it is."""
        if not self._over:
            self._over = True
            self._diary.write(
                self._sequencer.receive(Ended(at_seconds=at(self.seconds), reason=reason)).records
            )

    def speak_out(self, lines: list[Speak]) -> None:
        """After the drill: say lines one after the other, deaf to what comes in meanwhile."""
        for line in lines:
            self._mouth.speak(line)
        self._exchange.speak_out()

    def _live_through_next_block(self) -> None:
        block, facts = self._exchange.next_facts()
        self._facts.extend(facts)
        self._work(Tick(self.seconds))
        if block is None:
            self.end("end of the input")
        else:
            self._on_block(self.seconds)

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
                self._facts.extend(self._exchange.mind_the_echo())
            case Sound(tone=tone):
                self._mouth.sound(tone)
            case FallSilent():
                self._facts.extend(self._mouth.fall_silent(self.seconds))
            case Finish(reason=reason):
                self.end(reason)

    def _wait_for_device(self, lost: DeviceLostError) -> None:
        """A lost device is a pause: nothing runs on, nothing is missed."""
        self._say_what_happens(f"{lost} Paused; trying again.")
        self._facts.append(Paused(at_seconds=at(self.seconds), reason="device lost"))
        self._work(Tick(self.seconds))
        if not self._exchange.device_is_back():
            self.end("device lost")
            raise lost
        self._say_what_happens("The audio device is back; going on.")
        self._facts.append(Resumed(at_seconds=at(self.seconds)))
