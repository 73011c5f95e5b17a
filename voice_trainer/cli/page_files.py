"""Options that name a page, or leave it to the program where it goes."""

from __future__ import annotations

from pathlib import Path

from voice_trainer.outputs.checking import check_output
from voice_trainer.outputs.kinds import Kind

BESIDE_THE_JOURNAL = Path()
"""What an option without its FILE stands for: beside the journal, or in the data folder."""


def check_page(option: str, wanted: Path | None, kind: Kind) -> None:
    """Whether a page of that kind may be written there, if one is wanted in a place of its own. Raises OutputError."""
    if wanted is not None and wanted != BESIDE_THE_JOURNAL:
        check_output(option, wanted, kind)
