"""The kinds of files that are written where somebody said, and how an older one of the same kind is told."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

_EDGE_BYTES: Final = 128 << 10
"""A mark lies within so much of the beginning or the end: an M4A file has it behind its sound and its chapters."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file.

    `is_none` completes 'FILE is there already and ...' for a file that is another. `mark` is in every file of the kind
    and tells that we made it; without one (None) a file of this kind is never written over. Without `endings` the name
    may end as it likes. `private`: for its owner's eyes only.
    """

    example: str
    endings: tuple[str, ...]
    is_none: str = ""
    mark: bytes | None = None
    private: bool = False

    def made(self, path: Path) -> bool:
        """Whether the file is one of this kind, made by us. Raises OSError where it can't be read."""
        if self.mark is None:
            return False
        with path.open("rb") as file:
            if self.mark in file.read(_EDGE_BYTES):
                return True
            file.seek(max(0, path.stat().st_size - _EDGE_BYTES))
            return self.mark in file.read(_EDGE_BYTES)


_PAGES: Final = (".html", ".htm")
_DRILLS: Final = (".yaml", ".yml")

DEBRIEF_PAGE: Final = Kind(
    "debrief.html", _PAGES, "no debrief", b'content="voice_trainer debrief"', private=True
)
PROGRESS_PAGE: Final = Kind(
    "progress.html", _PAGES, "no page of progress", b'content="voice_trainer progress"', private=True
)
CARD_PAGE: Final = Kind("card.html", _PAGES, "no card of an approach", b'content="voice_trainer card"')
CARD_PDF: Final = Kind("card.pdf", (".pdf",), "no card of an approach", b"(voice_trainer card)")
TRACK: Final = Kind(
    "commute.m4a",
    (".opus", ".ogg", ".mp3", ".m4a", ".wav"),
    "no track of ours",
    b"Study aid only. Current charts, local procedures",
)
SEGMENTS: Final = Kind(
    "segments.json", (".json",), "no list of a track's segments", b'"schema": "voice-trainer-track/'
)

# Never written over: these can't be made again, or their owner may have changed them since.
DRILL: Final = Kind("landing.yaml", _DRILLS)
APPROACH: Final = Kind("my-vor.yaml", _DRILLS)
DRILL_SCHEMA: Final = Kind("drill.schema.json", (".json",))
SOUND: Final = Kind("session.wav", (".wav",))
JOURNAL: Final = Kind("session.jsonl", (".jsonl",), private=True)
