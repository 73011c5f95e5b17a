"""One microphone, one mouth, one pair of ears: what happened in each block, as facts.

Whoever holds the conversation, a drill or the menu between drills, reads block by block and is told who spoke. Without
a headset the ears are deaf while a cue is in the room.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from voice_trainer.audio.errors import DeviceLostError
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Block, Microphone
from voice_trainer.journal.events import (
    AnyFact,
    CueEnded,
    ListeningStarted,
    ListeningStopped,
    SamplesLost,
    at,
)
from voice_trainer.session.ears import Ears
from voice_trainer.session.lost_sound import LostSound
from voice_trainer.session.mouth import Mouth

RETRY_SECONDS = 1.0
LOOKS_BETWEEN_RETRIES = 10

HEARD_WITHIN_SECONDS = 3.0
"""How long what was said before a device went is waited for."""


class Exchange:
    """Blocks in, facts out. `headset`: listen while speaking too."""

    def __init__(
        self,
        microphone: Microphone,
        mouth: Mouth,
        ears: Ears,
        *,
        headset: bool = False,
        most_retries: int = 120,
    ) -> None:
        self.mouth = mouth
        self.ears = ears
        self.now = 0.0
        """The session time reached."""
        self._microphone = microphone
        self._headset = headset
        self._most_retries = most_retries
        self._untold: list[AnyFact] = []
        self._lost_sound = LostSound()

    def next_facts(self) -> tuple[Block | None, list[AnyFact]]:
        """The next block and what is known with it; None at the end of the input, with what was still to be heard.

        Raises DeviceLostError, RecogniserError, VoiceError.
        """
        block = self._microphone.read()
        if block is None:
            self.ears.finish()
            return None, self._facts_of_ears()
        self.now = block.end_seconds
        # The block is in the ears before the speaker is asked, which may be found lost: they count the time by blocks.
        self.ears.take(block)
        if block.lost_samples:
            self._lost_sound.lose(self.now - block.lost_samples / SAMPLE_RATE_HZ, self.now)
            self._untold.append(SamplesLost(at_seconds=at(self.now), samples=block.lost_samples))
        facts = [*self._untold, *self.mouth.poll(self.now)]
        self._untold.clear()
        if any(isinstance(fact, CueEnded) for fact in facts):
            self.ears.something_else_was_said()
        facts += self._facts_of_ears()
        return block, facts + self.mind_the_echo()

    def mind_the_echo(self) -> list[AnyFact]:
        """Half-duplex: deaf while a cue is in the room. To be asked again after the mouth was told to speak."""
        if self._headset:
            return []
        heard = self.mouth.is_heard_in_the_room(self.now)
        if heard and not self.ears.deaf:
            self.ears.deafen()
            return [*self._facts_of_ears(), ListeningStopped(at_seconds=at(self.now))]
        if not heard and self.ears.deaf:
            self.ears.listen()
            return [ListeningStarted(at_seconds=at(self.now))]
        return []

    def speak_out(self, tell: Callable[[AnyFact], None] = lambda fact: None) -> None:
        """Let what is being said come to its end, deaf to what comes in meanwhile, or until the device is lost."""
        while not self.mouth.idle:
            try:
                block = self._microphone.read()
            except DeviceLostError:
                return
            self.now += RETRY_SECONDS if block is None else len(block.samples) / SAMPLE_RATE_HZ
            for fact in self.mouth.poll(self.now):
                tell(fact)

    def break_off(self) -> None:
        """After DeviceLostError: what is being said is over here, and has not been heard whole."""
        self._lost_sound.break_off(self.now)
        if not self.ears.deaf:
            self.ears.deafen()
            self.ears.listen()

    def what_was_broken_off(self) -> list[AnyFact]:
        """What was said before the device went; it has been heard while the device was away, or is in a moment."""
        facts = self._facts_of_ears()
        until = time.monotonic() + HEARD_WITHIN_SECONDS
        while not self.ears.quiet and time.monotonic() < until:
            time.sleep(0.02)
            facts += self._facts_of_ears()
        return facts

    def _facts_of_ears(self) -> list[AnyFact]:
        return [self._lost_sound.judge(fact) for fact in self.ears.facts(self.now)]

    def device_is_back(self, meanwhile: Callable[[], None] = lambda: None) -> bool:
        """After DeviceLostError: wait for the same devices; False where they stay away. `meanwhile` is called often."""
        for _ in range(self._most_retries):
            if self._microphone.reopen() and self.mouth.speaker.reopen():
                return True
            for _ in range(LOOKS_BETWEEN_RETRIES):
                meanwhile()
                time.sleep(RETRY_SECONDS / LOOKS_BETWEEN_RETRIES)
        return False
