"""A session without sound, in which time passes only as it would if everything were spoken.

A cue takes as long as its words. Whoever runs it says what is heard, and when; the silence between is its own.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from voice_trainer.grading.matcher import Tick
from voice_trainer.journal.events import (
    AnyFact,
    CueEnded,
    CueStarted,
    Ended,
    Heard,
    SpeechEnded,
    SpeechStarted,
    at,
)
from voice_trainer.journal.hearing import Hearing
from voice_trainer.sequencing.commands import Finish, Speak
from voice_trainer.sequencing.sequencer import Outcome, Sequencer
from voice_trainer.session.diary import Diary

SECONDS_A_WORD = 0.4
REACTION_SECONDS = 0.5
TICK_SECONDS = 0.1


class SilentSession:
    """One drill; to be run by a subclass. Raises ArchiveError where the journal can't be written."""

    def __init__(self, sequencer: Sequencer, diary: Diary) -> None:
        self._sequencer = sequencer
        self._diary = diary
        self._cues: deque[Speak] = deque()
        self._now = 0.0
        self._over = False

    def end(self, reason: str) -> None:
        """End the drill now, wherever it is."""
        self._send(Ended(at_seconds=at(self._now), reason=reason))
        self._over = True

    def _utter(self, hear: Callable[[float], Hearing]) -> None:
        """After a moment something is said: `hear` tells what, of the time at which it begins."""
        self._pass_time(REACTION_SECONDS)
        if self._over:
            return
        onset = at(self._now)
        self._send(SpeechStarted(at_seconds=onset, onset_seconds=onset))
        hearing = hear(onset)
        self._now = max(self._now, hearing.end_seconds)
        now = at(self._now)
        self._send(SpeechEnded(at_seconds=now, start_seconds=onset, end_seconds=now))
        self._send(Heard(at_seconds=now, hearing=hearing))
        self._pass_time(TICK_SECONDS)

    def _pass_time(self, seconds: float) -> None:
        """Let time pass, and every cue that is due be spoken."""
        until = self._now + seconds
        while not self._over and (self._cues or self._now < until):
            if self._cues:
                until += self._speak(self._cues.popleft())
            self._now = at(self._now + TICK_SECONDS)
            self._send(Tick(self._now))

    def _speak(self, speak: Speak) -> float:
        """Speak a cue to its end; returns how long it took."""
        began = self._now
        self._send(
            CueStarted(at_seconds=at(self._now), cue=speak.cue, speaker=speak.speaker, text=speak.text)
        )
        ends = at(self._now + SECONDS_A_WORD / speak.pace * len(speak.text.split()))
        while self._now < ends:
            self._now = at(min(ends, self._now + TICK_SECONDS))
            self._send(Tick(self._now))
        self._send(CueEnded(at_seconds=at(self._now), cue=speak.cue))
        return self._now - began

    def _send(self, event: AnyFact | Tick) -> None:
        if self._over:
            return
        outcome = self._sequencer.receive(event)
        self._write(outcome)
        for command in outcome.commands:
            if isinstance(command, Speak):
                self._cues.append(command)
            elif isinstance(command, Finish):
                self.end(command.reason)
                return

    def _write(self, outcome: Outcome) -> None:
        """Write down what came of an event, before anything acts on it."""
        self._diary.write(outcome.records)
