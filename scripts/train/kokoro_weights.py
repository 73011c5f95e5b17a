"""The numbers of the Kokoro voice model, out of its quantised ONNX graph, by the names of its layers.

What is quantised stays so (`packed_numbers.py`): that is two thirds of the graph's size, and lets `kokoro.py` run the
model in batches on a GPU.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pathlib import Path

    from scripts.train.packed_numbers import Array

_QUANTISED = re.compile(r"(/Gemm)?(_MatMul|/MatMul|/Conv)_quant$")
_REPEATED = re.compile(r"_\d+(?=\.|$)")
"""One layer that runs twelve times has twelve nodes with one set of numbers."""


def layer_name(node: str) -> str:
    """A layer's name, from the name of its node: '/decoder/decoder/encode/conv1/Conv_quant' is decoder.encode.conv1."""
    path = _QUANTISED.sub("", node).strip("/").replace("/", ".").removesuffix(".LSTM_quant")
    path = re.sub(r"^decoder\.decoder\.", "decoder.", path)
    path = re.sub(r"cnn\.(\d)\.cnn\.\d\.0$", r"cnn.\1", path).replace("asr_res.asr_res.0", "asr_res")
    return re.sub(r"^encoder\.(F0|N|shared|F0_proj|N_proj)(?=\.|$)", r"encoder.predictor.\1", path)


def weights_of(graph: Path) -> dict[str, Array]:
    """All numbers of the ONNX graph in the file, by layer."""
    import onnx
    from onnx import numpy_helper

    model = onnx.load(str(graph)).graph
    stored = {tensor.name: tensor for tensor in model.initializer}
    found: dict[str, Array] = {}

    def number(name: str) -> Array:
        return np.asarray(numpy_helper.to_array(stored[name]))

    def put_quantised(name: str, weight: str, zero: str) -> None:
        found[name] = number(weight)
        found[f"{name}:scale"] = number(weight.removesuffix("_quantized") + "_scale")
        found[f"{name}:zero"] = number(zero)

    for node in model.node:
        name = layer_name(node.name)
        if node.op_type in ("MatMulInteger", "ConvInteger"):
            name = _REPEATED.sub("", name) if "albert" in name else name
            put_quantised(f"{name}.weight", node.input[1], node.input[3])
        elif node.op_type == "DynamicQuantizeLSTM":
            put_quantised(f"{name}.input", node.input[1], node.input[9])
            put_quantised(f"{name}.hidden", node.input[2], node.input[11])
            found[f"{name}.bias"] = number(node.input[3])
        elif node.op_type in ("Conv", "ConvTranspose") and "istft" not in node.name:
            found[re.sub(r"\.(Conv|ConvTranspose)$", "", name) + ".weight"] = number(node.input[1])
    for name in stored:
        if name.endswith("embeddings.weight_quantized") or name.endswith("embedding.weight_quantized"):
            zero = "encoder.bert.embeddings.word_embeddings.weight_zero_point"
            put_quantised(name.removesuffix("_quantized"), name, zero)
        elif re.search(r"\.(bias|gamma|beta|alpha[12]\.\d)$|[nN]orm\.weight$", name):
            short = re.sub(r"^decoder\.decoder\.", "decoder.", name)
            short = re.sub(r"cnn\.(\d)\.0\.bias", r"cnn.\1.bias", short).replace("asr_res.0.", "asr_res.")
            found[short] = number(name)
    found["decoder.generator.m_source.l_linear.weight"] = number("onnx::MatMul_6993")
    return found
