"""A session without sound: what the student says is typed, a line an utterance.

Time passes only as it would if the lines were spoken: a cue takes as long as its words, and so does a line.
An empty line, or `+5`, lets that many seconds pass (one, if nothing is said). So a typed session can be
written down in a file, and always ends the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from voice_trainer.library.errors import quoted
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.typed import hear_text
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.diary import Diary
from voice_trainer.session.silent import SECONDS_A_WORD, TICK_SECONDS, SilentSession

LONGEST_WAIT_SECONDS = 3600.0
WAIT = re.compile(r"\+\s*(\d+(?:\.\d+)?)", re.ASCII)


class TypedSession(SilentSession):
    """`read_line` gives the next line, None at the end of the input; `tell` is told of a line that is of no use."""

    def __init__(
        self,
        sequencer: Sequencer,
        grammar: Grammar,
        diary: Diary,
        read_line: Callable[[], str | None],
        tell: Callable[[str], None] = lambda line: None,
    ) -> None:
        super().__init__(sequencer, diary)
        self._grammar = grammar
        self._read_line = read_line
        self._tell = tell

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
            elif line.strip().startswith("+"):
                self._tell(f"{quoted(line.strip())} is no time and nothing said; +5 lets five seconds pass.")
            else:
                self._type(line)

    def _type(self, line: str) -> None:
        self._utter(lambda onset: hear_text(line, self._grammar, onset, SECONDS_A_WORD))
