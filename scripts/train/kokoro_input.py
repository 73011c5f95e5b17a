"""What the voice model Kokoro is given for a text: how its words sound, as numbers, and the style of a voice.

Needs hibari, which tells how words sound, and no torch: the training and the recognition benchmark both read this way.
`sources` is the folder that README.md here describes.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import cast

import numpy as np
from numpy.typing import NDArray

RATE = 24000
STYLE_SIZE = 256


class Pronouncer:
    """How English sounds, in Kokoro's alphabet."""

    def __init__(self, *, british: bool = False) -> None:
        from hibari import Hibari
        from hibari.g2p import G2P

        self._engine = Hibari(threads=1, g2p=G2P(british=True) if british else None)

    def phonemes(self, text: str) -> str:
        """How a text is said."""
        return " ".join(self._engine.phonemize(text))


def tokens_of(phonemes: Iterable[str], vocabulary: Mapping[str, int]) -> list[int]:
    """The numbers of these sounds, without the zeros that go before and behind; a sign without a number is left out."""
    return [vocabulary[sign] for sign in phonemes if sign in vocabulary]


def read_vocabulary(sources: Path) -> dict[str, int]:
    """The number of each sound."""
    return cast(dict[str, int], json.loads((sources / "vocab.json").read_text("utf-8"))["vocab"])


def read_styles(sources: Path, voice: str) -> NDArray[np.float32]:
    """The styles of a voice, a row for each number of tokens."""
    return np.fromfile(sources / "voices" / f"{voice}.bin", np.float32).reshape(-1, STYLE_SIZE)
