from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scripts.train.graphs import requantised
from scripts.train.kokoro_weights import layer_name
from scripts.train.packed_numbers import dequantised, pack, unpack
from scripts.train.points import between, mean, read_weights, save_weights

FRACTIONS = np.random.default_rng(1).normal(0, 0.1, (288, 96)).astype(np.float32)


@pytest.mark.parametrize("kind", [np.uint8, np.int8])
@pytest.mark.parametrize("columns", [True, False])
def test_quantised_numbers_are_at_most_half_a_step_off(kind: type, columns: bool) -> None:
    shape = (96,) if columns else ()
    whole, scale, zero = requantised(FRACTIONS, np.ones(shape, np.float32), np.zeros(shape, kind))
    assert (whole.dtype, scale.shape, zero.shape, zero.dtype) == (kind, shape, shape, kind)
    back = (whole.astype(np.float32) - zero.astype(np.float32)) * scale
    assert np.all(np.abs(back - FRACTIONS) <= scale * 1.01)
    assert np.abs(back - FRACTIONS).mean() < scale.mean() * 0.3


def test_quantising_what_was_quantised_changes_nothing() -> None:
    whole, scale, zero = requantised(FRACTIONS, np.ones((), np.float32), np.zeros((), np.uint8))
    back = (whole.astype(np.float32) - zero.astype(np.float32)) * scale
    again, _, _ = requantised(back, scale, zero)
    assert np.array_equal(whole, again)


def test_numbers_come_back_from_their_file_as_fractions(tmp_path: Path) -> None:
    whole, scale, zero = requantised(FRACTIONS, np.ones(96, np.float32), np.zeros(96, np.int8))
    one = np.linspace(-1, 1, 7, dtype=np.float32)
    pack(
        {"layer.weight": whole, "layer.weight:scale": scale, "layer.weight:zero": zero, "bias": one},
        tmp_path / "n.xz",
    )
    back = unpack(tmp_path / "n.xz")
    assert set(back) == {"layer.weight", "bias"}
    assert np.array_equal(back["bias"], one)
    assert np.abs(back["layer.weight"] - FRACTIONS).max() <= scale.max()


def test_both_ways_of_an_lstm_have_their_own_scale() -> None:
    whole = np.ones((2, 3, 4), np.int8)
    numbers = {
        "lstm.input": whole,
        "lstm.input:scale": np.array([1.0, 2.0]),
        "lstm.input:zero": np.zeros(2, np.int8),
    }
    assert dequantised(numbers)["lstm.input"][:, 0, 0].tolist() == [1.0, 2.0]


@pytest.mark.parametrize(
    ("node", "layer"),
    [
        ("/decoder/decoder/encode/conv1/Conv_quant", "decoder.encode.conv1"),
        ("/encoder/F0.1/norm1/fc/Gemm_MatMul_quant", "encoder.predictor.F0.1.norm1.fc"),
        ("/encoder/text_encoder/cnn.2/cnn.2.0/Conv_quant", "encoder.text_encoder.cnn.2"),
        ("/encoder/shared/LSTM_quant", "encoder.predictor.shared"),
    ],
)
def test_a_layer_is_named_after_its_node(node: str, layer: str) -> None:
    assert layer_name(node) == layer


def test_weights_travel_in_parts_that_are_small_enough(tmp_path: Path) -> None:
    weights = {f"layer {n}": np.full((1500, 1000), n, np.float32) for n in range(12)}
    save_weights(tmp_path, weights)
    files = sorted(tmp_path.iterdir())
    assert len(files) > 1
    assert all(path.stat().st_size < 16 * 2**20 for path in files)
    back = read_weights(tmp_path)
    assert set(back) == set(weights)
    assert all(np.array_equal(back[name], weights[name]) for name in weights)


def test_no_weights_are_told_of(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match=r"has no weights"):
        read_weights(tmp_path)


def test_mean_and_share() -> None:
    first, second = {"a": np.array([1.0, 3.0], np.float32)}, {"a": np.array([3.0, 5.0], np.float32)}
    assert mean([first, second])["a"].tolist() == [2.0, 4.0]
    assert between(first, second, 0.5)["a"].tolist() == [2.0, 4.0]
    assert between(first, second, 1.0)["a"].tolist() == [3.0, 5.0]
