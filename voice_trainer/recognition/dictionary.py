"""The pronouncing dictionary inside the pocketsphinx wheel, read without loading any model."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path


def dictionary_file() -> Path:
    """Where it is. Raises ImportError where pocketsphinx is not installed."""
    import pocketsphinx

    return Path(pocketsphinx.get_model_path("en-us")) / "cmudict-en-us.dict"


def listed(words: Collection[str], file: Path) -> dict[str, list[str]]:
    """Every way in which the dictionary says some words; of its 130,000 entries no others are kept."""
    found: dict[str, list[str]] = {}
    with file.open(encoding="utf-8") as lines:
        for line in lines:
            entry, _, phones = line.strip().partition(" ")
            word = entry.partition("(")[0]
            if word in words:
                found.setdefault(word, []).append(phones)
    return found
