"""A session over audio: the loop that listens, thinks, writes down and speaks, a block at a time.

The same loop runs live and in virtual time. What differs is given to it: the microphone and speaker, and
`in_step`, which makes it wait for renderings and hearings instead of going on meanwhile.
"""

from __future__ import annotations

import os
import time
from collections import deque
from collections.abc import Callable

from voice_trainer.audio.errors import DeviceLostError
from voice_trainer.audio.ports import Microphone
from voice_trainer.grading.matcher import Tick
from voice_trainer.journal.events import (
    ASLEEP,
    DEVICE_LOST,
    AnyFact,
    Ended,
    Ordered,
    Paused,
    Resumed,
    at,
    is_by_the_student,
)
from voice_trainer.sequencing.commands import FallSilent, Finish, Sound, Speak
from voice_trainer.sequencing.floor import IllegalEventError
from voice_trainer.sequencing.sequencer import Outcome, Sequencer
from voice_trainer.session.diary import Diary
from voice_trainer.session.ears import Ears
from voice_trainer.session.exchange import Exchange
from voice_trainer.session.keys import FREEZE_OR_CONTINUE
from voice_trainer.session.mouth import Mouth
from voice_trainer.session.sleep_watch import SleepWatch

FAULTS_END_SESSIONS = os.environ.get("VOICE_TRAINER_FAULTS") == "raise"
"""Whether what can't happen ends a session, as it does in tests; else it is written into the journal."""

LAST_HEARING_SECONDS = 2.0
"""How long the end of a drill waits for what was said before it to be recognised (ours)."""


class AudioSession:
    """One drill over one microphone and one speaker.

    `headset`: listen while speaking too. `on_block` is called with the session time after every block, and while a lost
    device is waited for (the synthetic student lives by it), `keys` as well: it returns the orders of the keys that
    were pressed (see `keys`). `sleep_watch` is given where a computer that sleeps is a pause; `say_what_happens` gets a
    line when that was so, and when a device is lost or found again.
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
        keys: Callable[[float], list[str]] = lambda now: [],
        sleep_watch: SleepWatch | None = None,
        say_what_happens: Callable[[str], None] = lambda line: None,
        most_retries: int = 120,
    ) -> None:
        self._sequencer = sequencer
        self._mouth = mouth
        self._exchange = Exchange(microphone, mouth, ears, headset=headset, most_retries=most_retries)
        self._diary = diary
        self._on_block = on_block
        self._keys = keys
        self._sleep_watch = sleep_watch
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

    def break_off(self, reason: str = "by the student") -> None:
        """End the drill now, but take in what is being said, or recognised, at this moment."""
        ears = self._exchange.ears
        if not self._over:
            ears.finish()
        until = time.monotonic() + LAST_HEARING_SECONDS
        while not self._over:
            self._facts.extend(ears.facts(self.seconds))
            while self._facts:
                self._diary.write(self._sequencer.receive(self._facts.popleft()).records)
            if ears.quiet or time.monotonic() >= until:
                self.end(reason)
            else:
                time.sleep(0.01)

    def speak_out(self, lines: list[Speak], questions_seconds: float = 0.0) -> str | None:
        """After the drill: say lines one after the other, then stay for questions and disputes until all has been quiet
        for `questions_seconds`; returns an order that ends this ('again', 'end', ...), None where there was none.

        Without time for questions it is deaf to what comes in meanwhile. Raises RecogniserError, VoiceError or
        ArchiveError.
        """
        for line in lines:
            self._mouth.speak(line)
        if not questions_seconds:
            self._exchange.speak_out(self._show)
            return None
        quiet_since: float | None = None
        self._exchange.mind_the_echo()
        while True:
            try:
                block, facts = self._exchange.next_facts()
            except DeviceLostError:
                return None
            busy = not self._mouth.idle or not self._exchange.ears.quiet
            for fact in facts:
                if (order := self._hear_afterwards(fact)) is not None:
                    return order
            pressed = [key for key in self._keys(self.seconds) if key != FREEZE_OR_CONTINUE]
            if block is None or pressed:
                self._mouth.fall_silent(self.seconds)
                return pressed[0] if pressed else None
            quiet_since = None if busy else quiet_since or self.seconds
            if quiet_since is not None and self.seconds - quiet_since >= questions_seconds:
                return None

    def _show(self, fact: AnyFact) -> None:
        self._diary.write(self._sequencer.receive(fact).records)

    def _hear_afterwards(self, fact: AnyFact) -> str | None:
        """Take in a fact after the end; the reason why this is over, too."""
        outcome = self._sequencer.receive(fact)
        self._diary.write(outcome.records)
        if outcome.commands:
            self._mouth.fall_silent(self.seconds)
        for command in outcome.commands:
            if isinstance(command, Finish):
                return command.reason
            if isinstance(command, Speak):
                self._mouth.speak(command)
                self._exchange.mind_the_echo()
        return None

    def _live_through_next_block(self) -> None:
        block, facts = self._exchange.next_facts()
        self._facts.extend(facts)
        self._work(Tick(self.seconds))
        if block is None:
            self.end("end of the input")
            return
        self._on_block(self.seconds)
        if self._sleep_watch is not None and (slept := self._sleep_watch.slept_seconds()):
            self._was_asleep(slept)
        toggle = "continue" if self._sequencer.paused else "freeze"
        for pressed in self._keys(self.seconds):
            order = toggle if pressed == FREEZE_OR_CONTINUE else pressed
            self._facts.append(Ordered(at_seconds=at(self.seconds), order=order))

    def _work(self, tick: Tick) -> None:
        """Every fact that waits through the sequencer, then the time itself."""
        while not self._over:
            event = self._facts.popleft() if self._facts else tick
            outcome = self._received(event)
            self._diary.write(outcome.records)
            for command in outcome.commands:
                self._do(command)
            if event is tick:
                break

    def _received(self, event: AnyFact | Tick) -> Outcome:
        """A fault of the program is written down, and the session goes on: the student can't help it."""
        try:
            return self._sequencer.receive(event)
        except IllegalEventError as fault:
            if FAULTS_END_SESSIONS or isinstance(event, Tick):
                raise
            return self._sequencer.go_on_after(fault, event)

    def _do(self, command: Speak | Sound | FallSilent | Finish) -> None:
        match command:
            case Speak():
                self._mouth.speak(command)
                self._facts.extend(self._exchange.mind_the_echo())
            case Sound(tone=tone):
                self._mouth.sound(tone)
            case FallSilent():
                self._facts.extend(self._mouth.fall_silent(self.seconds))
            case Finish(reason=reason) if is_by_the_student(reason):
                self.break_off(reason)
            case Finish(reason=reason):
                self.end(reason)

    def _was_asleep(self, slept_seconds: float) -> None:
        """A computer that slept is a pause, too; it lasts until the student, who may be far away, asks to go on."""
        self._say_what_happens(f"Nothing went on for {slept_seconds:.0f} seconds: this computer was asleep.")
        if not self._sequencer.paused:
            self._facts.append(Paused(at_seconds=at(self.seconds), reason=ASLEEP))

    def _wait_for_device(self, lost: DeviceLostError) -> None:
        """A lost device is a pause: nothing runs on, nothing is missed. What was being said is heard in the pause, and
        counts for nothing: the sequencer asks for it again.
        """
        if self._sleep_watch is not None and (slept := self._sleep_watch.slept_seconds()):
            self._was_asleep(slept)
        self._work(Tick(self.seconds))  # a pause that is only noted so far is one already
        self._say_what_happens(f"{lost} Paused; trying again.")
        stood_still = self._sequencer.paused
        if not stood_still:
            self._facts.append(Paused(at_seconds=at(self.seconds), reason=DEVICE_LOST))
        self._work(Tick(self.seconds))
        self._exchange.break_off()
        if not self._exchange.device_is_back(lambda: self._on_block(self.seconds)):
            self.end(DEVICE_LOST)
            raise lost
        self._facts.extend(self._exchange.what_was_broken_off())
        self._work(Tick(self.seconds))
        if self._sleep_watch is not None:
            self._sleep_watch.begin_anew()
        self._say_what_happens(f"The audio device is back{'' if stood_still else '; going on'}.")
        if not stood_still:
            self._facts.append(Resumed(at_seconds=at(self.seconds)))
