"""`voice-trainer guide`: the pages that come with the program, to be read in a terminal."""

from __future__ import annotations

import re
from pathlib import Path

from rich.console import Console
from rich.markdown import Markdown
from rich.text import Text

from voice_trainer.cli.command_name import as_typed_here
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.streams import write_text
from voice_trainer.cli.terminal import console
from voice_trainer.library.errors import quoted
from voice_trainer.library.wording import listed, nearest
from voice_trainer.outputs.writing import write_new_files

FOLDER = Path(__file__).parents[1] / "guide"
"""A Markdown file a page."""

PAGES = (
    "first-drill",
    "write-a-checklist",
    "write-a-radio-exchange",
    "type-in-an-approach",
    "run-a-school",
    "drill-format",
    "approach-format",
)
"""In the order in which they are read."""

WIDEST = 100
"""Columns; longer lines are hard to read."""

_LINK = re.compile(r"\[([^\]]+)\]\(([a-z-]+)\.md\)")
_FILE = re.compile(r"^```(?!console\b)\w+ (\S+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def guide(page: str | None, files: Path | None) -> int:
    """List the pages; or show one; or write the files of one into a folder. Raises UsageError, OutputError."""
    out = console()
    if page is None:
        if files is not None:
            raise UsageError("--files: of which page? name one, such as 'guide write-a-checklist --files .'")
        width = max(map(len, PAGES)) + 2
        for name in PAGES:
            out.print(Text.assemble((f"{name:<{width}}", "bold"), title_of(page_text(name))))
        out.print(as_typed_here("Read one with: voice-trainer guide PAGE"), markup=False)
        out.print("The files that a page shows are written with: --files FOLDER", markup=False)
        return 0
    text = page_text(page)
    if files is not None:
        return _write_files(page, text, files, out)
    text = as_typed_here(_LINK.sub(r"\1 (`voice-trainer guide \2`)", text))
    if out.is_terminal:
        width = min(out.width, WIDEST)
        # The terminal's own colours on the terminal's own ground: other themes bring a dark box with them.
        console(width=width).print(Markdown(text, code_theme="ansi_light"))
    else:
        write_text(text)
    return 0


def page_text(page: str) -> str:
    """The Markdown of a page. Raises UsageError for one that there is not."""
    if page not in PAGES:
        likely = nearest(page, PAGES)
        advice = f"did you mean '{likely}'?" if likely else f"there are {listed(PAGES)}"
        raise UsageError(f"guide: there is no page {quoted(page)}; {advice}")
    return (FOLDER / f"{page}.md").read_text(encoding="utf-8")


def title_of(text: str) -> str:
    """The heading of a page."""
    return text.partition("\n")[0].removeprefix("# ")


def files_of(text: str) -> dict[str, str]:
    """The files that a page shows, by name: its blocks whose info string has a name after the language."""
    return dict(_FILE.findall(text))


def _write_files(page: str, text: str, folder: Path, out: Console) -> int:
    found = files_of(text)
    if not found:
        raise UsageError(f"guide: the page '{page}' shows no files; read it without --files")
    for path in write_new_files(folder, found):
        out.print(f"{path}: written.", markup=False)
    return 0
