"""The trainer's ears: from blocks of samples to facts about speech.

Speech is found block by block; a whole utterance goes to the recogniser, in a thread of its own when the
session is live, so that listening and flying go on meanwhile. Facts come out in the order in which they
belong: an utterance that ends while an earlier one is still being recognised waits for it.
"""

from __future__ import annotations

from collections import deque
from concurrent.futures import Future, ThreadPoolExecutor

from voice_trainer.audio.ports import Block
from voice_trainer.journal.events import Heard, SpeechDropped, SpeechEnded, SpeechStarted, at
from voice_trainer.journal.hearing import Hearing
from voice_trainer.recognition import endpointing
from voice_trainer.recognition.fitting import lifted
from voice_trainer.recognition.ports import Recogniser

SpeechFact = SpeechStarted | SpeechDropped | SpeechEnded | Heard


class Ears:
    """Listens through an endpointer and a recogniser; with `in_step` it waits for every hearing.

    What comes from the microphone is made louder by `input_gain_db` before anything else is done with it.
    """

    def __init__(
        self,
        recogniser: Recogniser,
        settings: endpointing.EndpointingSettings | None = None,
        *,
        in_step: bool,
        input_gain_db: float = 0.0,
    ) -> None:
        self._recogniser = recogniser
        self._input_gain_db = input_gain_db
        self._endpointer = endpointing.Endpointer(settings)
        self._activity = endpointing.VoiceActivity()
        self._pool = None if in_step else ThreadPoolExecutor(1, thread_name_prefix="recogniser")
        self._events: deque[endpointing.EndpointingEvent] = deque()
        self._hearing: Future[Hearing] | None = None

    @property
    def deaf(self) -> bool:
        """Whether what comes in is ignored."""
        return self._endpointer.deaf

    @property
    def quiet(self) -> bool:
        """Nobody speaks, and nothing is being recognised."""
        return not self._endpointer.speaking and not self._events and self._hearing is None

    def deafen(self) -> None:
        """Ignore what comes in from now on; what has been said so far is an utterance."""
        if not self.deaf:
            self._events.extend(self._endpointer.deafen())

    def listen(self) -> None:
        """Take in what comes from now on."""
        if self.deaf:
            self._endpointer.listen()
            self._activity.reset()

    def take(self, block: Block) -> None:
        """The next block of the microphone."""
        if self.deaf:
            self._events.extend(self._endpointer.feed(block.samples, 0.0))
            return
        for samples, probability in self._activity.feed(lifted(block.samples, self._input_gain_db)):
            self._events.extend(self._endpointer.feed(samples, probability))

    def finish(self) -> None:
        """No more blocks will come: what has been said so far is an utterance."""
        self._events.extend(self._endpointer.close())

    def facts(self, now_seconds: float) -> list[SpeechFact]:
        """What is known now, in order. Raises RecogniserError."""
        facts: list[SpeechFact] = []
        now = at(now_seconds)
        while True:
            if self._hearing is not None and self._hearing.done():
                facts.append(Heard(at_seconds=now, hearing=self._hearing.result()))
                self._hearing = None
            if not self._events:
                return facts
            event = self._events[0]
            if isinstance(event, endpointing.Utterance) and self._hearing is not None:
                return facts
            self._events.popleft()
            match event:
                case endpointing.SpeechBegan(at_seconds=onset):
                    facts.append(SpeechStarted(at_seconds=now, onset_seconds=at(onset)))
                case endpointing.SpeechDropped():
                    facts.append(SpeechDropped(at_seconds=now))
                case endpointing.Utterance(start_seconds=start, end_seconds=end):
                    facts.append(SpeechEnded(at_seconds=now, start_seconds=at(start), end_seconds=at(end)))
                    self._hearing = self._recognise(event)

    def close(self) -> None:
        """Let the recogniser's thread end."""
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)

    def _recognise(self, utterance: endpointing.Utterance) -> Future[Hearing]:
        if self._pool is not None:
            return self._pool.submit(self._recogniser.hear, utterance.samples, utterance.start_seconds)
        hearing: Future[Hearing] = Future()
        hearing.set_result(self._recogniser.hear(utterance.samples, utterance.start_seconds))
        return hearing
