from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from scripts.train.kokoro_input import read_styles, read_vocabulary, tokens_of


def test_sounds_become_their_numbers_and_a_sign_without_one_is_left_out(tmp_path: Path) -> None:
    (tmp_path / "vocab.json").write_text(json.dumps({"vocab": {"t": 62, "ˈ": 156, " ": 16}}), "utf-8")
    assert tokens_of("tˈ t?", read_vocabulary(tmp_path)) == [62, 156, 16, 62]


def test_a_voice_has_a_style_for_each_number_of_tokens(tmp_path: Path) -> None:
    (tmp_path / "voices").mkdir()
    styles = np.arange(3 * 256, dtype=np.float32)
    styles.tofile(tmp_path / "voices" / "af_bella.bin")
    read = read_styles(tmp_path, "af_bella")
    assert read.shape == (3, 256)
    assert np.array_equal(read[2], styles[512:])
