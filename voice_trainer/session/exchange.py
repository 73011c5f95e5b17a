"""One microphone, one mouth, one pair of ears: what happened in each block, as facts.

Whoever holds the conversation, a drill or the menu between drills, reads block by block and is told who spoke. Without
a headset the ears are deaf while a cue is in the room.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from voice_trainer.audio.errors import DeviceLostError
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Block, Microphone
from voice_trainer.journal.events import AnyFact, ListeningStarted, ListeningStopped, SamplesLost, at
from voice_trainer.session.ears import Ears
from voice_trainer.session.mouth import Mouth

RETRY_SECONDS = 1.0
LOOKS_BETWEEN_RETRIES = 10


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

    def next_facts(self) -> tuple[Block | None, list[AnyFact]]:
        """The next block and what is known with it; None at the end of the input, with what was still to be heard.

        Raises DeviceLostError, RecogniserError, VoiceError.
        """
        block = self._microphone.read()
        if block is None:
            self.ears.finish()
            return None, list(self.ears.facts(self.now))
        self.now = block.end_seconds
        # The block is in the ears before the speaker is asked, which may be found lost: they count the time by blocks.
        self.ears.take(block)
        if block.lost_samples:
            self._untold.append(SamplesLost(at_seconds=at(self.now), samples=block.lost_samples))
        facts = [*self._untold, *self.mouth.poll(self.now)]
        self._untold.clear()
        facts += self.ears.facts(self.now)
        return block, facts + self.mind_the_echo()

    def mind_the_echo(self) -> list[AnyFact]:
        """Half-duplex: deaf while a cue is in the room. To be asked again after the mouth was told to speak."""
        if self._headset:
            return []
        heard = self.mouth.is_heard_in_the_room(self.now)
        if heard and not self.ears.deaf:
            self.ears.deafen()
            return [*self.ears.facts(self.now), ListeningStopped(at_seconds=at(self.now))]
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

    def device_is_back(self, meanwhile: Callable[[], None] = lambda: None) -> bool:
        """After DeviceLostError: wait for the same devices; False where they stay away. `meanwhile` is called often."""
        for _ in range(self._most_retries):
            if self._microphone.reopen() and self.mouth.speaker.reopen():
                return True
            for _ in range(LOOKS_BETWEEN_RETRIES):
                meanwhile()
                time.sleep(RETRY_SECONDS / LOOKS_BETWEEN_RETRIES)
        return False
