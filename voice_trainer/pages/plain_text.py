"""Text of strangers made harmless to look at: it is escaped elsewhere, but what can't be seen must not act either."""

from __future__ import annotations

import re
from typing import Final

LONGEST_SHOWN: Final = 600
"""Characters of one text on a page; `--json` has it whole."""

_BIDIRECTIONAL: Final = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
_UNFIT: Final = re.compile(f"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff{_BIDIRECTIONAL}]")
"""Control characters save tab and line feed, halves of surrogates, marks that turn the direction of writing."""


def plain(text: str, longest: int = LONGEST_SHOWN) -> str:
    """Text as it may be shown in one line: what could act becomes visible.

    What is longer than `longest` characters is cut, and says so.
    """
    shown = visible(re.sub(r"[\t\n\r]", " ", text[:longest]))
    return shown if len(text) <= longest else f"{shown} … ({len(text) - longest} characters more)"


def visible(text: str) -> str:
    """The same text, its lines and tabs kept: every character that could act is a replacement character instead."""
    return _UNFIT.sub("\ufffd", text)


def escaped_in_json(text: str) -> str:
    """The same JSON, which means the same: what could act where it is looked at is written as an escape.

    Such characters are in strings only, where an escape stands for the character (RFC 8259, section 7).
    """
    return _UNFIT.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
