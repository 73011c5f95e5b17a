"""How this program writes to a terminal: lines, tables, and somebody else's text made safe."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterable, Sequence

from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.text import Text

from voice_trainer.cli.streams import give_up
from voice_trainer.pages.plain_text import visible


class _VisibleConsole(Console):
    """A console at whose door every text is made visible; its own styling and cursor movements come behind that."""

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """See rich: whatever is printed comes through here as pieces of text, before any style is made of it."""
        for piece in super().render(renderable, options):
            yield piece if piece.control else piece._replace(text=visible(piece.text))

    def on_broken_pipe(self) -> None:
        """Whoever read our output has gone: the command ends (`cli.main`). Remarks on standard error nobody misses."""
        give_up(self.file)
        if not self.stderr:
            raise BrokenPipeError(errno.EPIPE, os.strerror(errno.EPIPE))


def console(*, to_stderr: bool = False, width: int | None = None) -> Console:
    """A console that heeds NO_COLOR and pipes, and never wraps a line by itself, unless a `width` is given."""
    return _VisibleConsole(stderr=to_stderr, highlight=False, soft_wrap=width is None, width=width)


def say(
    out: Console, text: str | Text, *, first: Text | None = None, indent: int = 0, style: str = ""
) -> None:
    """Print one line of text, behind `first` where there is one; a terminal that is narrower gets it in several,
    broken between words, the others indented.
    """
    body = Text(text) if isinstance(text, str) else text
    head = first or Text()
    if not out.is_terminal or head.cell_len + body.cell_len <= out.width:
        out.print(Text.assemble(head, body), style=style)
        return
    margin = body.plain[: len(body.plain) - len(body.plain.lstrip())]
    room = max(LEAST_ROOM, out.width - max(head.cell_len, indent) - len(margin))
    body = body[len(margin) :]
    for number, line in enumerate(body.wrap(out, room)):
        line.rstrip()
        before = head if number == 0 else Text(" " * max(head.cell_len, indent))
        out.print(Text.assemble(before, margin, line), style=style)


LEAST_ROOM = 20
"""Columns that a text has to itself, however narrow the terminal is."""

LONGEST_CELL = 44


def shown(text: str, longest: int = LONGEST_CELL) -> str:
    """Somebody else's text, safe to show on one line and no longer than `longest` characters.

    Controls, marks that change the direction of writing, and all else that can't be seen are written as escapes.
    """
    cut = text if len(text) <= longest else f"{text[: longest - 1]}…"
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in cut)


def print_table(out: Console, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """A table in plain columns, as wide as its cells; each cell is shown as `shown` has it."""
    cells = [[shown(cell) for cell in row] for row in rows]
    widths = [max(cell_len(row[i]) for row in [list(headings), *cells]) for i in range(len(headings))]
    for number, row in enumerate([list(headings), *cells]):
        line = "  ".join(
            cell + " " * (width - cell_len(cell)) for cell, width in zip(row, widths, strict=True)
        )
        out.print(Text(f"  {line}".rstrip(), style="bold" if number == 0 else ""))
