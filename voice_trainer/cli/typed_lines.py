"""A typed session in a terminal: a prompt, the replies, and the lines of the session between them.

What is typed on a terminal stands there already; where it comes from a file it is shown as it was understood.
"""

from __future__ import annotations

import sys

from rich.console import Console

from voice_trainer.cli.live_lines import LiveLines
from voice_trainer.cli.terminal import say
from voice_trainer.journal.events import Accepted, AnyDecision, AnyFact, AskAgain, Heard, PutRight

LONGEST_LINE = 4096
"""Characters of a typed line; what goes on after them is the next."""

PROMPT = "> "

HOW = (
    "Type what you would say. Time waits for you: an empty line lets a second pass, +5 five seconds; "
    "? shows what may be said now."
)


class TypedLines(LiveLines):
    """A watcher that prints a session as it goes on, reads its lines, and shows what they are answered."""

    def __init__(self, out: Console) -> None:
        super().__init__(out)
        self._at_the_keys = sys.stdin.isatty()
        self._prompts = self._at_the_keys and out.is_terminal
        if self._at_the_keys:
            say(out, HOW, style="dim")

    def __call__(self, record: AnyFact | AnyDecision) -> None:
        """Print what a person wants to see of `record`, if the reply does not say it."""
        if isinstance(record, Heard):
            self._anything_heard = True
        if isinstance(record, Accepted | AskAgain | PutRight) or (
            self._prompts and isinstance(record, Heard)
        ):
            return
        super().__call__(record)

    def read_line(self) -> str | None:
        """The next line, None at the end of the input."""
        if self._prompts:
            self._out.print(PROMPT, end="", style="bold")
            self._out.file.flush()
        line = sys.stdin.readline(LONGEST_LINE)
        if self._prompts and not line.endswith("\n"):
            self._out.print()
        return line or None

    def interrupted(self) -> None:
        """Ctrl-C came while a line was typed: what is printed next begins on a line of its own."""
        if self._prompts:
            self._out.print()

    def reply(self, seconds: float, text: str) -> None:
        """The one reply to a line."""
        self._line(seconds, "", "", f"  {text}")

    def help(self, lines: list[str]) -> None:
        """What may be said now."""
        for line in lines:
            say(self._out, f"  {line}")

    def of_no_use(self, text: str) -> None:
        """A line that is neither a time nor said."""
        say(self._out, text)
