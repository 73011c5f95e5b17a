"""Files of pages: which may be written, and never another file written over."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import Literal

from voice_trainer.cli.problems import UsageError
from voice_trainer.library.errors import quoted

PAGE = ".html"

Sort = Literal["debrief", "progress"]
_SORTS: dict[Sort, str] = {"debrief": "debrief", "progress": "page of progress"}

BESIDE_THE_JOURNAL = Path()
"""What an option without its FILE stands for: beside the journal, or in the data folder."""


def check_page(option: str, wanted: Path | None, sort: Sort = "debrief") -> None:
    """Whether a page of a sort may be written there. Raises UsageError.

    An older page of that sort is written anew; any other file is left alone.
    """
    if wanted is None or wanted == BESIDE_THE_JOURNAL:
        return
    if wanted.suffix.lower() not in (PAGE, ".htm"):
        raise UsageError(
            f"{option}: {quoted(str(wanted))} does not end in {PAGE}; name a page, such as {sort}{PAGE}"
        )
    if wanted.is_dir():
        raise UsageError(f"{option}: {wanted} is a folder; name a file in it")
    if not wanted.parent.is_dir():
        raise UsageError(f"{option}: there is no folder {wanted.parent}; make it, or name another")
    if wanted.exists() and not _is_ours(wanted, sort):
        raise UsageError(f"{option}: {wanted} is there already and no {_SORTS[sort]}; name another file")


def _is_ours(path: Path, sort: Sort) -> bool:
    """A page says what made it (`GENERATOR` of each sort's `page` module)."""
    with suppress(OSError), path.open("rb") as file:
        return f'content="voice_trainer {sort}"'.encode() in file.read(2000)
    return False
