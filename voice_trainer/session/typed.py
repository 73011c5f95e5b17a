"""A session without sound: what the student says is typed, a line an utterance.

Time passes only as it would if the lines were spoken: a cue takes as long as its words, and so does a line.
An empty line, or `+5`, lets that many seconds pass (one, if nothing is said). So a typed session can be
written down in a file, and always ends the same.
"""

from __future__ import annotations

import re
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
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.typed import hear_text
from voice_trainer.sequencing.commands import Finish, Speak
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.diary import Diary

SECONDS_A_WORD = 0.4
REACTION_SECONDS = 0.5
TICK_SECONDS = 0.1
LONGEST_WAIT_SECONDS = 3600.0
WAIT = re.compile(r"\+(\d+(?:\.\d+)?)")


class TypedSession:
    """`read_line` gives the next line, None at the end of the input."""

    def __init__(
        self, sequencer: Sequencer, grammar: Grammar, diary: Diary, read_line: Callable[[], str | None]
    ) -> None:
        self._sequencer = sequencer
        self._grammar = grammar
        self._diary = diary
        self._read_line = read_line
        self._cues: deque[Speak] = deque()
        self._now = 0.0
        self._over = False

    def run(self) -> None:
        """Run the drill to its end. Raises ArchiveError."""
        self._pass_time(TICK_SECONDS)
        while not self._over:
            line = self._read_line()
            if line is None:
                self.end("end of the input")
            elif not line.strip():
                self._pass_time(1.0)
            elif wait := WAIT.fullmatch(line.strip()):
                self._pass_time(min(float(wait[1]), LONGEST_WAIT_SECONDS))
            else:
                self._utter(line)

    def end(self, reason: str) -> None:
        """End the drill now, wherever it is."""
        self._send(Ended(at_seconds=at(self._now), reason=reason))
        self._over = True

    def _utter(self, line: str) -> None:
        self._pass_time(REACTION_SECONDS)
        if self._over:
            return
        onset = at(self._now)
        self._send(SpeechStarted(at_seconds=onset, onset_seconds=onset))
        hearing = hear_text(line, self._grammar, onset, SECONDS_A_WORD)
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
        self._diary.write(outcome.records)
        for command in outcome.commands:
            if isinstance(command, Speak):
                self._cues.append(command)
            elif isinstance(command, Finish):
                self.end(command.reason)
                return
