"""What sound of a session its user agreed to keep when it is over."""

from __future__ import annotations

from typing import Literal, get_args

Keep = Literal["none", "disputed", "calls", "all"]
"""none: nothing; disputed: what was disputed or could not be made out; calls: that, and every call; all: the whole
session, with what was said between calls."""

KEEPS: tuple[Keep, ...] = get_args(Keep)
"""From least to most."""


def lesser(one: Keep, other: Keep) -> Keep:
    """Of two choices the one that keeps less."""
    return min(one, other, key=KEEPS.index)
