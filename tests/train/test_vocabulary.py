"""The tokens that are kept: words are cut as before, names can be spelled, the file comes back."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scripts.train.export import described
from scripts.train.vocabulary import check_same_cuts, kept_tokens, tokeniser_file
from voice_trainer.recognition.likelihood.model_files import FILES, model_folder
from voice_trainer.recognition.likelihood.tokeniser import BLANK, Tokeniser, read_pieces

PIECES = (
    *(b"" for _ in range(259)),
    *(
        piece.encode()
        for piece in ("▁t", "wo", "en", "▁two", "ty", "▁twen", "▁tw", "▁twenty", "▁twelve", "The", "T")
    ),
    *(piece.encode() for piece in ("five", "abc", "▁xyz", "abcd", "9", "é", *"▁abcdefghijklmnopqrstuvwxyz")),
)
"""'twenty' is merged to 'en', 'ty', '▁t', '▁tw', '▁twen', '▁twenty': the tokens for two of them are never written."""


def kept(*words: str) -> tuple[bytes, ...]:
    return tuple(PIECES[token] for token in kept_tokens(PIECES, words))[259:]


def test_the_pieces_of_words_and_of_the_merges_on_the_way_stay() -> None:
    assert {piece.decode() for piece in kept("twenty")} >= {"▁t", "en", "ty", "▁tw", "▁twen", "▁twenty"}
    assert not {"▁twelve", "five", "abcd"} & {piece.decode() for piece in kept("twenty")}


def test_short_pieces_in_small_letters_stay_and_others_go() -> None:
    assert {piece.decode() for piece in kept()} == {
        "▁t", "wo", "en", "▁two", "ty", "▁tw", "abc", "▁xyz", *"abcdefghijklmnopqrstuvwxyz"
    }  # fmt: skip


def test_begin_end_and_bytes_stay_where_they_are_and_the_order_too() -> None:
    tokens = kept_tokens(PIECES, ("twenty",))
    assert tokens[:259] == tuple(range(259))
    assert list(tokens) == sorted(set(tokens))


@given(st.lists(st.text("twelvnyfiabc", min_size=1, max_size=9), max_size=5))
def test_words_are_cut_as_before(words: list[str]) -> None:
    check_same_cuts(PIECES, [PIECES[token] for token in kept_tokens(PIECES, words)], words)


def test_a_word_that_is_cut_otherwise_is_told() -> None:
    with pytest.raises(ValueError, match="'twenty' was cut into"):
        check_same_cuts(PIECES, [piece for piece in PIECES if piece != "▁twen".encode()], ["twenty"])


@given(st.lists(st.binary(max_size=300), min_size=260, max_size=270))
def test_the_file_comes_back(tmp_path_factory: pytest.TempPathFactory, pieces: list[bytes]) -> None:
    path = tmp_path_factory.mktemp("file") / "tokenizer.bin"
    path.write_bytes(tokeniser_file(pieces))
    assert read_pieces(path) == tuple(pieces)


def test_the_shipped_file_comes_back_byte_for_byte() -> None:
    path = model_folder() / "tokenizer.bin"
    assert tokeniser_file(read_pieces(path)) == path.read_bytes()


def test_every_short_made_up_name_has_tokens_that_are_no_bytes() -> None:
    tokeniser = Tokeniser(read_pieces(model_folder() / "tokenizer.bin"))
    for name in ("zyxqwv", "kelda", "brannock", "ojqeth"):
        tokens = tokeniser.encode(BLANK + name)
        assert min(tokens) > 258
        assert tokeniser.decode(tokens) == name


def test_the_description_is_that_of_the_files(tmp_path: Path) -> None:
    for name in FILES:
        (tmp_path / name).write_bytes(name.encode())
    files = json.loads(described(tmp_path))["files"]
    assert files == {name: hashlib.sha256(name.encode()).hexdigest() for name in FILES}


def test_the_shipped_description_is_what_an_export_would_write() -> None:
    folder = model_folder()
    assert (folder / "model.json").read_text(encoding="utf-8") == described(folder)
