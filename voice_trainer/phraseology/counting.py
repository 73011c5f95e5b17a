"""So many of something, as it is printed, and read out."""

from __future__ import annotations


def counted(number: int, thing: str) -> str:
    """'1 call', '2 calls': of what takes an s in the plural."""
    return f"{number} {thing}{'' if number == 1 else 's'}"
