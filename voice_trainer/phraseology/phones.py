"""The sounds that a pronunciation is written in: the 39 phones of the CMU Pronouncing Dictionary (`cmudict.phones`)."""

from __future__ import annotations

from typing import Final

# fmt: off
VOWELS: Final = frozenset({
    "AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW",
})
CONSONANTS: Final = frozenset({
    "B", "CH", "D", "DH", "F", "G", "HH", "JH", "K", "L", "M", "N", "NG", "P", "R", "S", "SH", "T", "TH", "V",
    "W", "Y", "Z", "ZH",
})
# fmt: on
ARPABET: Final = VOWELS | CONSONANTS
"""All of them, without stress marks."""


def is_phone(text: str) -> bool:
    """Whether `text` is a phone; a vowel may carry a stress mark, 0, 1 or 2."""
    return text in ARPABET or (text[:-1] in VOWELS and text[-1:] in {"0", "1", "2"})
