"""A recording graded afterwards: along the journal of its session, or, without one, in the order of what is said.

Theory of operation
-------------------
With the journal, sample n of the recording is sample n of the session. Everything that happened there but was not heard
(cues, flight, pauses, deafness, what was asked of the trainer) happens again at its own time, and what is heard between
is heard anew. The aeroplane flies as it flew.

Without it nobody knows when cues sounded. What is said is heard first; then the drill is run without sound, and each
utterance is said when the drill has come to where its calls are due. The silence between utterances does not count, so
nothing is late and nothing early; what is passed over is missed.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Sequence

from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Microphone
from voice_trainer.grading.discretion import what_is_kept
from voice_trainer.grading.matcher import Tick, match
from voice_trainer.grading.state import MatchState
from voice_trainer.grading.windows import too_early
from voice_trainer.journal.events import (
    DEVICE_LOST,
    AnyDecision,
    AnyFact,
    CueEnded,
    CueStarted,
    Decision,
    Disputed,
    Ended,
    Heard,
    ListeningStarted,
    ListeningStopped,
    Paused,
    SamplesLost,
    SpeechDoubted,
    SpeechDropped,
    SpeechEnded,
    SpeechStarted,
    at,
)
from voice_trainer.journal.hearing import Hearing
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.diary import Diary
from voice_trainer.session.ears import Ears
from voice_trainer.session.lost_sound import LostSound
from voice_trainer.session.silent import TICK_SECONDS, SilentSession

HEARD_ANEW = (SpeechStarted, SpeechDropped, SpeechEnded, SpeechDoubted, Heard)
BEFORE_SPEECH = (CueStarted, CueEnded, SamplesLost)
"""What of one block is told before what was said in it, as a session does."""


class AlongJournal:
    """A session again, from its `records`; `state` is the matcher's, by which ears may have foresight."""

    def __init__(self, state: MatchState, records: Iterable[AnyFact | AnyDecision], diary: Diary) -> None:
        self.state = state
        self.seconds = 0.0
        """How far the recording has been listened to."""
        self._facts = deque(record for record in records if not isinstance(record, (Decision, *HEARD_ANEW)))
        self._diary = diary
        self._lost_sound = LostSound()

    def run(self, microphone: Microphone, ears: Ears) -> None:
        """Listen to the whole session. Raises AudioError, RecogniserError, ArchiveError."""
        while not self.state.ended and (block := microphone.read()) is not None:
            self.seconds = now = block.end_seconds
            due = self._due(now)
            for fact in due:
                if isinstance(fact, SamplesLost):
                    self._lost_sound.lose(fact.at_seconds - fact.samples / SAMPLE_RATE_HZ, fact.at_seconds)
                if isinstance(fact, BEFORE_SPEECH):
                    self._take(fact)
            ears.take(block)
            self._hear(ears)
            for fact in due:
                if isinstance(fact, ListeningStopped):
                    ears.deafen()
                    self._hear(ears)
                elif isinstance(fact, ListeningStarted):
                    ears.listen()
                elif isinstance(fact, Paused) and fact.reason == DEVICE_LOST:
                    self._lost_sound.break_off(now)
                if not isinstance(fact, BEFORE_SPEECH):
                    self._take(fact)
            self._take(Tick(now))
        ears.finish()
        self._hear(ears)
        for fact in self._due(float("inf")):
            self._take(fact)
        self._take(Ended(at_seconds=at(self.seconds), reason="by the student"))

    def _due(self, now: float) -> list[AnyFact]:
        due: list[AnyFact] = []
        while self._facts and self._facts[0].at_seconds <= at(now):
            due.append(self._facts.popleft())
        return due

    def _hear(self, ears: Ears) -> None:
        for fact in ears.facts(self.seconds):
            self._take(self._lost_sound.judge(fact))

    def _take(self, event: AnyFact | Tick) -> None:
        if self.state.ended and not isinstance(event, Disputed):
            return
        if isinstance(event, Heard):
            event = event.model_copy(update={"hearing": what_is_kept(self.state, event.hearing)})
        self.state, decisions = match(self.state, event)
        facts = [] if isinstance(event, Tick) else [event]
        self._diary.write([*facts, *decisions])


def all_heard(microphone: Microphone, ears: Ears) -> list[Hearing]:
    """Every utterance of a recording, in order. Raises AudioError, RecogniserError."""
    facts: list[AnyFact] = []
    now = 0.0
    while (block := microphone.read()) is not None:
        now = block.end_seconds
        ears.take(block)
        facts += ears.facts(now)
    ears.finish()
    facts += ears.facts(now)
    hearings: list[Hearing] = []
    for fact in facts:
        if isinstance(fact, Heard):
            if fact.grown and hearings:
                hearings.pop()
            hearings.append(fact.hearing)
    return hearings


class InOrder(SilentSession):
    """A drill in which one utterance after the other is said as its calls become due."""

    def __init__(self, sequencer: Sequencer, diary: Diary, hearings: Sequence[Hearing]) -> None:
        super().__init__(sequencer, diary)
        self._hearings = hearings

    def run(self) -> None:
        """Run the drill to its end, or its time limit. Raises ArchiveError."""
        self._pass_time(TICK_SECONDS)
        for hearing in self._hearings:
            while not self._over and self._comes_later(hearing):
                self._pass_time(TICK_SECONDS)
            self._utter(_said_at(hearing))
        while not self._over:
            self._pass_time(1.0)

    def _comes_later(self, hearing: Hearing) -> bool:
        """Whether what is said are calls of which none is due any more, and one is not due yet."""
        state = self._sequencer.state
        spans = hearing.best.spans if hearing.best else ()
        phrases = {meaning.phrase for span in spans if span.kind == "call" for meaning in span.meanings}
        calls = [
            (flow, call) for flow in state.flows for call in flow.calls if call.pattern.phrase in phrases
        ]
        if any(flow.open and not too_early(state, flow, call) for flow, call in calls):
            return False
        return any(not flow.closed for flow, _ in calls)


def _said_at(hearing: Hearing) -> Callable[[float], Hearing]:
    return lambda onset: hearing.moved(onset - hearing.start_seconds)
