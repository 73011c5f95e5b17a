"""Which of the tokens are kept, and the tokeniser's file with those only.

The untuned model can write any text, with capitals and figures; the tuned one writes plain words. What it never
writes is taken out of the vocabulary: the decoder is smaller, and adds up fewer scores for each token.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from voice_trainer.recognition.likelihood.tokeniser import BLANK, FIRST_PIECE, Tokeniser

_SHORT = re.compile(rf"{BLANK}?[a-z]{{1,3}}")


def kept_tokens(pieces: Sequence[bytes], words: Iterable[str]) -> tuple[int, ...]:
    """The numbers of the tokens that are kept, in their order.

    Those are begin, end and the bytes; every piece that `words` are cut into, or that the merges on the way there go
    through; and all of up to three small letters, of which names are made that nobody has thought of yet.
    """
    used: set[bytes] = set()
    tokeniser = Tokeniser(tuple(pieces))
    for word in words:
        for parts in tokeniser.stages(BLANK + word):
            used.update(parts)
    kept = [
        number
        for number, piece in enumerate(pieces)
        if number < FIRST_PIECE or piece in used or _SHORT.fullmatch(piece.decode(errors="replace"))
    ]
    return tuple(kept)


def check_same_cuts(whole: Sequence[bytes], cut: Sequence[bytes], words: Iterable[str]) -> None:
    """Raises ValueError for a word that the two vocabularies cut into different pieces."""
    before, after = Tokeniser(tuple(whole)), Tokeniser(tuple(cut))
    for word in words:
        was = [whole[token] for token in before.encode(BLANK + word)]
        now = [cut[token] for token in after.encode(BLANK + word)]
        if was != now:
            raise ValueError(f"'{word}' was cut into {was}, and is now into {now}")


def tokeniser_file(pieces: Iterable[bytes]) -> bytes:
    """What `read_pieces` reads: the length of each piece, in two bytes from 128 on, and the piece."""
    return b"".join(_length(len(piece)) + piece for piece in pieces)


def _length(length: int) -> bytes:
    return bytes([length]) if length < 128 else bytes([128 + length % 128, length // 128])
