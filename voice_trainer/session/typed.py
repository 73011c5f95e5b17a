"""A session without sound: what the student says is typed, a line an utterance.

Time passes only as it would if the lines were spoken: a cue takes as long as its words, and so does a line.
An empty line, or `+5`, lets that many seconds pass (one, if nothing is said). So a typed session can be
written down in a file, and always ends the same.

Each line gets one reply (`replies.py`), an empty one none: it follows the line's own record, before all that comes of
it. A `?` alone asks what may be said now (`may_be_said.py`); it takes no time, and is nobody's speech.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Protocol

from voice_trainer.journal.events import CueStarted, Heard, StepBegan
from voice_trainer.journal.hearing import Hearing
from voice_trainer.library.errors import quoted
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.typed import hear_text
from voice_trainer.sequencing.commands import Finish
from voice_trainer.sequencing.sequencer import Outcome, Sequencer
from voice_trainer.session.diary import Diary
from voice_trainer.session.may_be_said import may_be_said
from voice_trainer.session.replies import Line, reply_to
from voice_trainer.session.silent import SECONDS_A_WORD, TICK_SECONDS, SilentSession

LONGEST_WAIT_SECONDS = 3600.0
WAIT = re.compile(r"\+\s*(\d+(?:\.\d+)?)", re.ASCII)
HELP = "?"
OVER = "not said: the session was over before"


class Answering(Protocol):
    """Who shows the session's answers to what is typed."""

    def reply(self, seconds: float, text: str) -> None:
        """The one reply to a line, at a second of the session clock."""

    def help(self, lines: list[str]) -> None:
        """What may be said now."""

    def of_no_use(self, text: str) -> None:
        """A line that is neither a time nor said."""


class Unanswered:
    """Shows nothing: for who reads the journal instead."""

    def reply(self, seconds: float, text: str) -> None:
        """Show nothing."""

    def help(self, lines: list[str]) -> None:
        """Show nothing."""

    def of_no_use(self, text: str) -> None:
        """Show nothing."""


class TypedSession(SilentSession):
    """`read_line` gives the next line, None at the end of the input; `answers` shows what is answered."""

    def __init__(
        self,
        sequencer: Sequencer,
        grammar: Grammar,
        diary: Diary,
        read_line: Callable[[], str | None],
        answers: Answering | None = None,
    ) -> None:
        super().__init__(sequencer, diary)
        self._grammar = grammar
        self._read_line = read_line
        self._answers = answers or Unanswered()
        self._typed: Hearing | None = None
        self._cue_given = False

    def run(self) -> None:
        """Run the drill to its end. Raises ArchiveError."""
        self._pass_time(TICK_SECONDS)
        while not self._over:
            line = self._read_line()
            if line is None:
                self.end("end of the input")
            elif not line.strip():
                self._pass_time(1.0)
            elif line.strip() == HELP:
                self._answers.help(may_be_said(self._sequencer.state, paused=self._sequencer.paused))
            elif wait := WAIT.fullmatch(line.strip()):
                self._wait(float(wait[1]))
            elif line.strip().startswith("+"):
                self._answers.of_no_use(
                    f"{quoted(line.strip())} is no time and nothing said; +5 lets five seconds pass."
                )
            else:
                self._type(line)

    def _wait(self, wanted_seconds: float) -> None:
        seconds = min(wanted_seconds, LONGEST_WAIT_SECONDS)
        at_most = ", the most at once" if seconds < wanted_seconds else ""
        self._answers.reply(self._now, f"{seconds:g} seconds pass{at_most}")
        self._pass_time(seconds)

    def _type(self, line: str) -> None:
        def hear(onset_seconds: float) -> Hearing:
            self._typed = hear_text(line, self._grammar, onset_seconds, SECONDS_A_WORD)
            return self._typed

        self._typed = None
        self._utter(hear)
        if self._typed is None:
            self._answers.reply(self._now, OVER)

    def _write(self, outcome: Outcome) -> None:
        records = outcome.records
        self._cue_given |= any(isinstance(record, CueStarted | StepBegan) for record in records)
        index = next((i for i, record in enumerate(records) if isinstance(record, Heard)), None)
        if index is None or self._typed is None or isinstance(self._answers, Unanswered):
            super()._write(outcome)
            return
        self._diary.put_down(records)
        heard = records[index]
        assert isinstance(heard, Heard)
        line = Line(
            typed=self._typed,
            heard=heard,
            records=records[index + 1 :],
            state=self._sequencer.state,
            finishes=any(isinstance(command, Finish) for command in outcome.commands),
            cue_given=self._cue_given,
        )
        self._diary.show(records[: index + 1])
        self._answers.reply(heard.at_seconds, reply_to(line))
        self._diary.show(records[index + 1 :])
