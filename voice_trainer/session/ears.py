"""The trainer's ears: from blocks of samples to facts about speech.

Speech is found block by block; a whole utterance goes to the recogniser, in a thread of its own when the
session is live, so that listening and flying go on meanwhile. Facts come out in the order in which they
belong: an utterance that ends while an earlier one is still being recognised waits for it.

Theory of operation
-------------------
Hearing begins at the first pause, while it is not known yet whether the utterance is over. When nothing follows,
the hearing is there when the hangover has passed, or soon after. When it already completes what is due, the
hangover is not waited for. And when speech goes on after a pause, what was heard before it as whole calls is an
utterance of its own: after a long flow the student waits for the hearing of its last call only.

Pauses are looked at one after the other, each with all that was said since the last cut, so how fast the
recogniser is changes when something is known and nothing else.
"""

from __future__ import annotations

from collections import deque
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Protocol

from voice_trainer.audio.ports import Block
from voice_trainer.journal.events import Heard, SpeechDropped, SpeechEnded, SpeechStarted, at
from voice_trainer.journal.hearing import Hearing
from voice_trainer.recognition import endpointing
from voice_trainer.recognition.fitting import lifted
from voice_trainer.recognition.ports import Recogniser

SpeechFact = SpeechStarted | SpeechDropped | SpeechEnded | Heard


class Foresight(Protocol):
    """What may be concluded from a hearing before the utterance is over."""

    def is_whole(self, hearing: Hearing) -> bool:
        """Whether it is clearly one or more whole calls, so that more speech would be something else."""

    def completes(self, hearing: Hearing) -> bool:
        """Whether it is that, and nothing more is due."""


class NoForesight:
    """Waits for the end of every utterance."""

    def is_whole(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False

    def completes(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False


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
        foresight: Foresight | None = None,
        input_gain_db: float = 0.0,
    ) -> None:
        self._recogniser = recogniser
        self._foresight = foresight or NoForesight()
        self._input_gain_db = input_gain_db
        self._endpointer = endpointing.Endpointer(settings)
        self._activity = endpointing.VoiceActivity()
        self._pool = None if in_step else ThreadPoolExecutor(1, thread_name_prefix="recogniser")
        self._events: deque[endpointing.EndpointingEvent] = deque()
        self._announced = False
        self._asked: tuple[tuple[float, float], Future[Hearing]] | None = None

    @property
    def deaf(self) -> bool:
        """Whether what comes in is ignored."""
        return self._endpointer.deaf

    @property
    def quiet(self) -> bool:
        """Nobody speaks, and nothing is being recognised."""
        return not self._endpointer.speaking and not self._events

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
        while self._events:
            event = self._events[0]
            if isinstance(event, endpointing.Utterance):
                facts += self._ended(event, now)
                if self._events and self._events[0] is event:
                    return facts
                continue
            self._events.popleft()
            if isinstance(event, endpointing.SpeechBegan):
                facts.append(SpeechStarted(at_seconds=now, onset_seconds=at(event.at_seconds)))
            else:
                facts.append(SpeechDropped(at_seconds=now))
        return facts + self._going_on(now)

    def close(self) -> None:
        """Let the recogniser's thread end."""
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)

    def _ended(self, utterance: endpointing.Utterance, now: float) -> list[SpeechFact]:
        """What is known of the utterance that is first in the queue; it stays there until it has been heard."""
        facts: list[SpeechFact] = []
        if not utterance.pauses and not self._announced:
            facts.append(_end_of(utterance, now))
            self._announced = True
        hearing = self._hear(utterance.before_pause())
        if hearing is None:
            return facts
        if not utterance.pauses:
            self._events.popleft()
            self._announced = False
            facts.append(Heard(at_seconds=now, hearing=hearing))
        elif self._foresight.is_whole(hearing):
            self._events[0] = utterance.after_pause()
            facts += _cut(utterance, hearing, now)
        else:
            self._events[0] = utterance.passing_over_pause()
        return facts

    def _going_on(self, now: float) -> list[SpeechFact]:
        """What is known of the utterance in progress: whether what was said before its pauses is over."""
        facts: list[SpeechFact] = []
        while self._endpointer.has_pause or self._endpointer.pausing:
            so_far = self._endpointer.so_far()
            assert so_far is not None
            hearing = self._hear(so_far.before_pause())
            if hearing is None:
                break
            if not so_far.pauses:
                if self._foresight.completes(hearing):
                    self._events.extend(self._endpointer.close())
                    return facts + self.facts(now)
                break
            if self._foresight.is_whole(hearing):
                self._endpointer.cut_at_pause()
                facts += _cut(so_far, hearing, now)
            else:
                self._endpointer.pass_over_pause()
        return facts

    def _hear(self, utterance: endpointing.Utterance) -> Hearing | None:
        """What is heard in an utterance, None while that is not known yet. Raises RecogniserError."""
        key = (utterance.start_seconds, utterance.end_seconds)
        if self._asked is None or self._asked[0] != key:
            if self._asked is not None:
                self._asked[1].cancel()
            self._asked = (key, self._recognise(utterance))
        future = self._asked[1]
        return future.result() if future.done() else None

    def _recognise(self, utterance: endpointing.Utterance) -> Future[Hearing]:
        if self._pool is not None:
            return self._pool.submit(self._recogniser.hear, utterance.samples, utterance.start_seconds)
        hearing: Future[Hearing] = Future()
        hearing.set_result(self._recogniser.hear(utterance.samples, utterance.start_seconds))
        return hearing


def _end_of(utterance: endpointing.Utterance, now: float) -> SpeechEnded:
    return SpeechEnded(
        at_seconds=now, start_seconds=at(utterance.start_seconds), end_seconds=at(utterance.end_seconds)
    )


def _cut(utterance: endpointing.Utterance, hearing: Hearing, now: float) -> list[SpeechFact]:
    """The end of what was heard before a pause, and the beginning of the next, before the hearing is acted upon."""
    onset_seconds = utterance.after_pause().speech_start_seconds
    return [
        _end_of(utterance.before_pause(), now),
        SpeechStarted(at_seconds=now, onset_seconds=at(onset_seconds)),
        Heard(at_seconds=now, hearing=hearing),
    ]
