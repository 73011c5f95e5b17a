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

An utterance that is the beginning of a call and no more ('turn left heading...') is not told yet: somebody thinks.
If they go on within `THINKING_SECONDS` both parts are heard together, and what is clear then is one utterance.
"""

from __future__ import annotations

from collections import OrderedDict, deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Protocol

from voice_trainer.audio.ports import Block
from voice_trainer.journal.events import Heard, SpeechDropped, SpeechEnded, SpeechStarted, at
from voice_trainer.journal.hearing import Hearing
from voice_trainer.recognition import endpointing
from voice_trainer.recognition.gain import lifted
from voice_trainer.recognition.ports import Recogniser, Samples

SpeechFact = SpeechStarted | SpeechDropped | SpeechEnded | Heard

THINKING_SECONDS = 1.5
"""How long after the beginning of a call its rest may begin (ours)."""


ASKED_AT_ONCE = 2
"""An utterance, and the same with what followed it."""


class Foresight(Protocol):
    """What may be concluded from a hearing before the utterance is over."""

    def is_whole(self, hearing: Hearing) -> bool:
        """Whether it is clearly one or more whole calls, so that more speech would be something else."""

    def completes(self, hearing: Hearing) -> bool:
        """Whether it is that, and nothing more is due."""

    def is_unfinished(self, hearing: Hearing) -> bool:
        """Whether it is the beginning of a call, which is no call yet."""


class Activity(Protocol):
    """How likely each block is speech; `endpointing.VoiceActivity`, for one."""

    def feed(self, samples: Samples) -> Iterator[tuple[Samples, float]]:
        """Take samples; yield each whole block with its probability, between 0 and 1."""

    def reset(self) -> None:
        """Forget all that was heard, and the samples of an unfinished block."""


class NoForesight:
    """Waits for the end of every utterance."""

    def is_whole(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False

    def completes(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False

    def is_unfinished(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False


class Ears:
    """Listens through an endpointer and a recogniser; with `in_step` it waits for every hearing.

    What comes from the microphone is made louder by `input_gain_db` before anything else is done with it. `activity`
    tells speech from quiet.
    """

    def __init__(
        self,
        recogniser: Recogniser,
        settings: endpointing.EndpointingSettings | None = None,
        *,
        in_step: bool,
        foresight: Foresight | None = None,
        input_gain_db: float = 0.0,
        weighs_deafness: bool = False,
        activity: Activity | None = None,
    ) -> None:
        self._recogniser = recogniser
        self._foresight = foresight or NoForesight()
        self._input_gain_db = input_gain_db
        self._endpointer = endpointing.Endpointer(settings)
        self._activity: Activity = activity or endpointing.VoiceActivity()
        self._speech_on = (settings or endpointing.EndpointingSettings()).speech_on
        self._while_deaf = endpointing.VoiceActivity() if weighs_deafness else None
        self._unheard_blocks = 0
        self._pool = None if in_step else ThreadPoolExecutor(1, thread_name_prefix="recogniser")
        self._events: deque[endpointing.EndpointingEvent] = deque()
        self._announced = False
        self._closed = False
        self._asked: OrderedDict[tuple[float, float], Future[Hearing]] = OrderedDict()

    @property
    def deaf(self) -> bool:
        """Whether what comes in is ignored."""
        return self._endpointer.deaf

    @property
    def unheard_seconds(self) -> float:
        """How much sounded like speech while it was ignored; 0 where that is not weighed."""
        return self._unheard_blocks * endpointing.BLOCK_SECONDS

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
            if self._while_deaf is not None:
                likely = self._while_deaf.feed(lifted(block.samples, self._input_gain_db))
                self._unheard_blocks += sum(each >= self._speech_on for _, each in likely)
            return
        for samples, probability in self._activity.feed(lifted(block.samples, self._input_gain_db)):
            self._events.extend(self._endpointer.feed(samples, probability))

    def finish(self) -> None:
        """No more blocks will come: what has been said so far is an utterance."""
        self._closed = True
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
            if self._foresight.is_unfinished(hearing):
                rest = self._rest_of(utterance, now)
                if rest is None:
                    return facts
                together = self._hear(utterance.joined(rest)) if rest is not utterance else hearing
                if together is None:
                    return facts
                if _is_all_clear(together):
                    return facts + self._told_together(utterance, rest, together, now)
            self._events.popleft()
            self._announced = False
            facts.append(Heard(at_seconds=now, hearing=hearing))
        elif self._foresight.is_whole(hearing):
            self._events[0] = utterance.after_pause()
            facts += _cut(utterance, hearing, now)
        else:
            self._events[0] = utterance.passing_over_pause()
        return facts

    def _rest_of(self, utterance: endpointing.Utterance, now: float) -> endpointing.Utterance | None:
        """What was said soon after an unfinished utterance; the utterance itself where nothing was, None while that
        is not known yet.
        """
        until = utterance.speech_end_seconds + THINKING_SECONDS
        match list(self._events)[1:3]:
            case [endpointing.SpeechBegan(at_seconds=onset), *after] if onset <= until:
                if not after:
                    return None if self._endpointer.speaking else utterance
                return after[0] if isinstance(after[0], endpointing.Utterance) else utterance
            case [endpointing.SpeechBegan(), *_]:
                return utterance
            case _:
                return None if now <= until and not self._closed else utterance

    def _told_together(
        self, first: endpointing.Utterance, rest: endpointing.Utterance, hearing: Hearing, now: float
    ) -> list[SpeechFact]:
        """The facts of a call of which the beginning has been told: its rest began and ended, and this was heard."""
        for _ in (first, "the beginning of the rest", rest):
            self._events.popleft()
        self._announced = False
        return [
            SpeechStarted(at_seconds=now, onset_seconds=at(rest.speech_start_seconds)),
            _end_of(first.joined(rest), now),
            Heard(at_seconds=now, hearing=hearing),
        ]

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
        if key not in self._asked:
            while len(self._asked) >= ASKED_AT_ONCE:
                self._asked.popitem(last=False)[1].cancel()
            self._asked[key] = self._recognise(utterance)
        future = self._asked[key]
        return future.result() if future.done() else None

    def _recognise(self, utterance: endpointing.Utterance) -> Future[Hearing]:
        if self._pool is not None:
            return self._pool.submit(self._recogniser.hear, utterance.samples, utterance.start_seconds)
        hearing: Future[Hearing] = Future()
        hearing.set_result(self._recogniser.hear(utterance.samples, utterance.start_seconds))
        return hearing


def _is_all_clear(hearing: Hearing) -> bool:
    spans = hearing.best.spans if hearing.best and hearing.clarity == "clear" else ()
    return bool(spans) and all(span.kind != "other" for span in spans)


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
