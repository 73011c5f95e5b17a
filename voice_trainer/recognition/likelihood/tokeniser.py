"""The model's alphabet: pieces of text and their numbers.

The file holds one entry a token: a length byte (with a second one, high part, when the first is 128 or more),
then so many bytes. Numbers 3 to 258 are the single bytes that stand in for what no piece covers; they have the
same text as real pieces, so pieces are looked up from 259 on: with the wrong number every score is nonsense.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

from voice_trainer.recognition.errors import RecogniserError

BLANK = "▁"
"""How a piece says that a blank comes before it."""

FIRST_PIECE = 259
FIRST_BYTE = 3


def read_pieces(path: Path) -> tuple[bytes, ...]:
    """All tokens of a tokeniser file, by number."""
    data = path.read_bytes()
    pieces: list[bytes] = []
    at = 0
    while at < len(data):
        length = data[at]
        at += 1
        if length >= 128:
            if at >= len(data):
                break
            length = data[at] * 128 + length - 128
            at += 1
        pieces.append(data[at : at + length])
        at += length
    if at != len(data) or len(pieces) <= FIRST_PIECE:
        raise RecogniserError(f"{path}: not a tokeniser file of this model; get it again")
    return tuple(pieces)


class Tokeniser:
    """Text to token numbers and back."""

    def __init__(self, pieces: tuple[bytes, ...]) -> None:
        self._pieces = pieces
        self._numbers: dict[bytes, int] = {}
        for number in range(FIRST_PIECE, len(pieces)):
            self._numbers.setdefault(pieces[number], number)
        self.encode = lru_cache(maxsize=None)(self._encode)

    def __len__(self) -> int:
        return len(self._pieces)

    def piece(self, token: int) -> str:
        """The text of one token, with `BLANK` for a blank."""
        return self._pieces[token].decode("utf-8", errors="replace")

    def decode(self, tokens: tuple[int, ...]) -> str:
        """The text of tokens, without what stands for begin and end."""
        text = b"".join(self._pieces[token] for token in tokens if token > 2)
        return text.decode("utf-8", errors="replace").replace(BLANK, " ").strip()

    def stages(self, text: str) -> Iterator[tuple[bytes, ...]]:
        """`text` in its characters, then after each merge; in it `BLANK` stands for each blank.

        Pairs of neighbours are merged, the pair whose piece has the lowest number first, the leftmost among
        equals, until no pair is a piece.
        """
        parts = [character.encode() for character in text]
        yield tuple(parts)
        while found := [
            (number, at)
            for at in range(len(parts) - 1)
            if (number := self._numbers.get(parts[at] + parts[at + 1])) is not None
        ]:
            _, at = min(found)
            parts[at : at + 2] = [parts[at] + parts[at + 1]]
            yield tuple(parts)

    def _encode(self, text: str) -> tuple[int, ...]:
        """Token numbers of `text`; what is no piece is written in bytes."""
        *_, parts = self.stages(text)
        tokens: list[int] = []
        for part in parts:
            if part in self._numbers:
                tokens.append(self._numbers[part])
            else:
                tokens.extend(FIRST_BYTE + byte for byte in part)
        return tuple(tokens)
