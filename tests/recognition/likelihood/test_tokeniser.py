"""The model's tokens: what its file says, and the two traps in it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.likelihood.model import SpeechModel
from voice_trainer.recognition.likelihood.model_files import model_folder
from voice_trainer.recognition.likelihood.tokeniser import Tokeniser, read_pieces

PIECES = read_pieces(model_folder() / "tokenizer.bin")
TOKENISER = Tokeniser(PIECES)


def test_the_file_holds_the_vocabulary_of_the_decoder() -> None:
    assert len(PIECES) == SpeechModel(model_folder(), threads=1).tokens
    assert PIECES[1] == b"<s>"
    assert PIECES[2] == b"</s>"


def test_a_single_character_is_a_piece_and_not_its_byte() -> None:
    assert TOKENISER.encode("a")[0] > 258
    assert TOKENISER.encode("'")[0] > 258


def test_what_no_piece_covers_is_written_in_bytes() -> None:
    assert all(3 <= token <= 258 for token in TOKENISER.encode("\N{SNOWMAN WITHOUT SNOW}\N{DUCK}")[-4:])


def test_capitals_and_figures_which_the_model_does_not_write_are_bytes() -> None:
    assert TOKENISER.encode("A118.3") == tuple(3 + byte for byte in b"A118.3")


@given(st.text("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,'- ", min_size=1))
def test_text_survives_its_tokens(text: str) -> None:
    tidy = " ".join(text.split())
    assert TOKENISER.decode(TOKENISER.encode("▁" + tidy.replace(" ", "▁"))) == tidy


def test_another_file_is_refused(tmp_path: object) -> None:
    from pathlib import Path

    path = Path(str(tmp_path)) / "tokenizer.bin"
    path.write_bytes(b"\x05abc")
    with pytest.raises(RecogniserError, match="not a tokeniser file"):
        read_pieces(path)
