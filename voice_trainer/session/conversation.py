"""Talk with the student between drills: the trainer says something, then listens for one answer.

Theory of operation
-------------------
`say` queues sentences; `listen` lets them sound, gives the 'listening' tone, and waits for one utterance. With a
headset an answer may come while the trainer still speaks: it then falls silent. A device that is lost is waited for,
and what was being said is said again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from voice_trainer.audio.errors import DeviceLostError
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.journal.events import AnyFact, Heard, SpeechDropped, SpeechStarted
from voice_trainer.journal.hearing import Hearing
from voice_trainer.sequencing.commands import Speak, Tone
from voice_trainer.session.exchange import Exchange

KEPT_SECONDS = 30.0
"""How much of the latest sound is kept, to look at its level; nothing of it is written anywhere."""


class ConversationOverError(Exception):
    """The input is at its end, or whoever answered has nothing more to say."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One utterance: what was heard, and its sound with some quiet around it (mono PCM at 16 kHz)."""

    hearing: Hearing
    samples: Samples


class Conversation:
    """`watch` gets every fact; `on_block` the time after every block; `on_listening` when it is the student's turn;
    `keys` whatever was pressed since it was asked last, as orders.
    """

    def __init__(
        self,
        exchange: Exchange,
        *,
        pace: float = 1.0,
        watch: Callable[[AnyFact], None] = lambda fact: None,
        on_block: Callable[[float], None] = lambda now: None,
        on_listening: Callable[[float], None] = lambda now: None,
        keys: Callable[[float], list[str]] = lambda now: [],
        say_what_happens: Callable[[str], None] = lambda line: None,
    ) -> None:
        self.pace = pace
        self._exchange = exchange
        self._watch = watch
        self._on_block = on_block
        self._on_listening = on_listening
        self._keys = keys
        self._say_what_happens = say_what_happens
        self._to_say: list[Speak] = []
        self._kept: list[tuple[float, Samples]] = []

    def say(self, *texts: str) -> None:
        """Say sentences, every number in words, after what is already being said."""
        for text in texts:
            speak = Speak("menu", "instructor", text, self.pace)
            self._to_say.append(speak)
            self._exchange.mouth.speak(speak)
        self._tell(self._exchange.mind_the_echo())

    def sound(self, tone: Tone) -> None:
        """A tone, unless something is being said."""
        self._exchange.mouth.sound(tone)

    def finish_speaking(self) -> None:
        """Let all that was said come to its end."""
        self._exchange.speak_out(self._watch)
        self._to_say.clear()

    def listen(self, patience_seconds: float | None) -> Answer | str | None:
        """The next answer; an order where a key was pressed; None where all was quiet for `patience_seconds`.

        Patience begins when the trainer has finished. Raises ConversationOverError at the end of the input, and
        AudioError where a lost device stays away.
        """
        mouth = self._exchange.mouth
        quiet_since: float | None = None
        while True:
            if quiet_since is None and mouth.idle:
                self._to_say.clear()
                self.sound("listening")
                self._on_listening(self._exchange.now)
                quiet_since = self._exchange.now
            try:
                facts, over = self._next_facts()
            except DeviceLostError as lost:
                self._wait_for_device(lost)
                quiet_since = None
                continue
            now = self._exchange.now
            for fact in facts:
                if isinstance(fact, Heard) and fact.hearing.clarity != "not a call":
                    self._fall_silent()
                    self._exchange.ears.something_else_was_said()
                    return Answer(fact.hearing, self._sound_of(fact.hearing))
                if isinstance(fact, SpeechStarted | SpeechDropped | Heard) and quiet_since is not None:
                    quiet_since = now
            if over:
                raise ConversationOverError
            if pressed := self._keys(now):
                self._fall_silent()
                return pressed[0]
            if (
                patience_seconds is not None
                and quiet_since is not None
                and self._exchange.ears.quiet
                and now - quiet_since >= patience_seconds
            ):
                return None

    def _fall_silent(self) -> None:
        self._tell(list(self._exchange.mouth.fall_silent(self._exchange.now)))
        self._to_say.clear()

    def _next_facts(self) -> tuple[list[AnyFact], bool]:
        block, facts = self._exchange.next_facts()
        now = self._exchange.now
        self._tell(facts)
        if block is not None:
            self._kept.append((now, block.samples))
            while self._kept[0][0] < now - KEPT_SECONDS:
                self._kept.pop(0)
            self._on_block(now)
        return facts, block is None

    def _tell(self, facts: list[AnyFact]) -> None:
        for fact in facts:
            self._watch(fact)

    def _sound_of(self, hearing: Hearing) -> Samples:
        """The kept sound of an utterance, as far as it is still there."""
        blocks = [
            samples
            for end, samples in self._kept
            if end > hearing.start_seconds and end - len(samples) / SAMPLE_RATE_HZ < hearing.end_seconds
        ]
        return np.concatenate(blocks) if blocks else np.zeros(0, np.int16)

    def _wait_for_device(self, lost: DeviceLostError) -> None:
        self._say_what_happens(f"{lost} Trying again.")
        self._exchange.break_off()
        if not self._exchange.device_is_back():
            raise lost
        self._say_what_happens("The audio device is back.")
        unsaid, self._to_say = self._to_say, []
        self.say("The audio device is back.", *(speak.text for speak in unsaid))
