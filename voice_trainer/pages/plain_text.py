"""Text of strangers made harmless to look at: it is escaped elsewhere, but what can't be seen must not act either."""

from __future__ import annotations

import unicodedata
from typing import Final

LONGEST_SHOWN: Final = 600
"""Characters of one text on a page; `--json` has it whole."""

_BIDIRECTIONAL: Final = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def plain(text: str, longest: int = LONGEST_SHOWN) -> str:
    """Text as it may be shown: marks that turn the direction of what follows, and control characters, become visible.

    What is longer than `longest` characters is cut, and says so.
    """
    cut = text[:longest]
    shown = "".join(" " if c in "\t\n\r" else "\ufffd" if _is_unfit(c) else c for c in cut)
    return shown if len(text) <= longest else f"{shown} … ({len(text) - longest} characters more)"


def _is_unfit(character: str) -> bool:
    return character in _BIDIRECTIONAL or unicodedata.category(character) in ("Cc", "Cs")
