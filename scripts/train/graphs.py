"""The speech model's two ONNX graphs: made from the files of its wheel, read, and written with other numbers.

A tuned model has the shapes of the graphs that it came from, so its numbers are written back into them, quantised as
they were: the engine that runs the one runs the other.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping

    from scripts.train.packed_numbers import Array

ENCODER, DECODER = "encoder_model", "decoder_model_merged"
EMBEDDING = "decoder.embed_tokens.weight"

_QUANTISED_OPS = ("DynamicQuantizeMatMul", "MatMulIntegerToFloat")
_GROUP_NORM = {"onnx::Mul_2080": "groupnorm.weight", "onnx::Add_2081": "groupnorm.bias"}
"""What the exporter made of two names."""


def as_onnx(folder: Path, to: Path) -> None:
    """Writes the two graphs of `folder` (the wheel's .ort files) as ONNX."""
    os.environ["ORT_DISABLE_TELEMETRY"] = (
        "1"  # before it is loaded: see voice_trainer.recognition.onnxruntime_offline
    )
    import onnx
    import onnxruntime  # noqa: TID251

    to.mkdir(parents=True, exist_ok=True)
    for name in (ENCODER, DECODER):
        options = onnxruntime.SessionOptions()
        options.graph_optimization_level = onnxruntime.GraphOptimizationLevel.ORT_DISABLE_ALL
        options.optimized_model_filepath = str(to / f"{name}.onnx")
        options.add_session_config_entry("session.save_model_format", "ONNX")
        onnxruntime.InferenceSession(str(folder / f"{name}.ort"), options, providers=["CPUExecutionProvider"])
        model = onnx.load(str(to / f"{name}.onnx"))
        for node in model.graph.node:
            for attribute in node.attribute:
                if attribute.type == onnx.AttributeProto.GRAPH and not attribute.g.name:
                    attribute.g.name = attribute.name  # onnx refuses a branch without a name
        onnx.save(model, str(to / f"{name}.onnx"))


def read_numbers(folder: Path) -> dict[str, Array]:
    """The model's numbers by layer, quantised ones as `packed_numbers.py` keeps them."""
    found: dict[str, Array] = {}
    for graph in _both(folder):
        for name, tensor in graph.quantised.items():
            found[name] = _as_layer(name, graph.number(tensor))
            for part in ("scale", "zero"):
                found[f"{name}:{part}"] = graph.number(graph.beside(tensor, part)).reshape(-1, 1)
        for name, tensor in graph.fractions.items():
            found.setdefault(
                name, graph.number(tensor).squeeze(-1) if "groupnorm" in name else graph.number(tensor)
            )
    return found


def write_numbers(folder: Path, numbers: Mapping[str, NDArray[np.float32]], to: Path) -> list[str]:
    """Writes the graphs of `folder` to the folder `to` with these numbers in place of theirs; tells what has none."""
    import onnx

    to.mkdir(parents=True, exist_ok=True)
    placed: set[str] = set()
    for graph in _both(folder):
        for name, tensor in graph.quantised.items():
            if name not in numbers:
                continue
            scale, zero = (graph.number(graph.beside(tensor, part)) for part in ("scale", "zero"))
            whole, scale, zero = requantised(_as_layer(name, numbers[name]), scale, zero)
            graph.put(tensor, whole)
            graph.put(graph.beside(tensor, "scale"), scale)
            graph.put(graph.beside(tensor, "zero"), zero)
            placed.add(name)
        for name, tensor in graph.fractions.items():
            if name in numbers:
                graph.put(tensor, numbers[name])
                placed.add(name)
        onnx.save(graph.model, str(to / graph.path.name))
    return sorted(set(numbers) - placed)


def cut_vocabulary(folder: Path, kept: Sequence[int]) -> None:
    """Leaves these tokens only in the decoder of `folder`: rows of the embedding, columns of what scores them.

    Scales and zero points stay, so every score that is left is what it was.
    """
    import onnx
    from onnx import numpy_helper

    path = folder / f"{DECODER}.onnx"
    model = onnx.load(str(path))
    cut: dict[str, int] = {}
    for part in _parts(model.graph):
        for node in part.node:
            if node.name.endswith("/embed_tokens/Gather"):
                cut[node.input[0]] = 0
            elif node.name == "/proj_out/MatMul_quant":
                cut[node.input[1]] = 1
    for part in _parts(model.graph):
        for tensor in part.initializer:
            if tensor.name in cut:
                numbers = numpy_helper.to_array(tensor).take(kept, axis=cut[tensor.name])
                tensor.CopyFrom(numpy_helper.from_array(np.ascontiguousarray(numbers), tensor.name))
        for output in part.output:
            if output.name == "logits":
                output.type.tensor_type.shape.dim[-1].dim_value = len(kept)
    if sorted(cut.values()) != [0, 1]:
        raise ValueError(f"{path}: not one embedding and one projection, but {', '.join(cut) or 'none'}")
    onnx.save(model, str(path))


def requantised(
    fractions: NDArray[np.float32], scale: Array, zero: Array
) -> tuple[Array, NDArray[np.float32], Array]:
    """Whole numbers for fractions, of the kind that scale and zero point had; new scale and zero point."""
    axis = 0 if scale.size > 1 else None
    low = np.minimum(fractions.min(axis=axis), 0)
    high = np.maximum(fractions.max(axis=axis), 0)
    kind = np.iinfo(zero.dtype)
    if zero.dtype == np.uint8:
        step = np.maximum((high - low) / 255, 1e-12)
        middle = np.clip(np.round(-low / step), 0, 255)
    else:
        step = np.maximum(np.maximum(-low, high) / 127, 1e-12)
        middle = np.zeros_like(step)
    whole = np.clip(np.round(fractions / step) + middle, kind.min, kind.max).astype(zero.dtype)
    return (
        whole,
        np.asarray(step, np.float32).reshape(scale.shape),
        np.asarray(middle).astype(zero.dtype).reshape(zero.shape),
    )


class _Graph:
    """One file, its tensors by name."""

    def __init__(self, path: Path, prefix: str) -> None:
        import onnx

        self.path = path
        self.model = onnx.load(str(path))
        self._stored: dict[str, list[Any]] = {}
        self.quantised: dict[str, str] = {}
        """The tensor of each layer that is quantised."""
        self.fractions: dict[str, str] = {}
        for part in _parts(self.model.graph):
            for tensor in part.initializer:
                self._stored.setdefault(tensor.name, []).append(tensor)
            for node in part.node:
                if node.op_type in _QUANTISED_OPS and node.name.endswith("/MatMul_quant"):
                    layer = node.name.removesuffix("/MatMul_quant").strip("/").replace("/", ".")
                    self.quantised[f"{prefix}{layer.removeprefix('model.')}.weight"] = node.input[1]
        for name, tensors in self._stored.items():
            if name.endswith("embed_tokens.weight_merged_0_quantized"):
                self.quantised[EMBEDDING] = name
            elif tensors[0].data_type == onnx.TensorProto.FLOAT:
                plain = re.sub(r"_merged_\d$", "", name)
                plain = _GROUP_NORM.get(plain, plain).replace("weight_add_tensor", "weight")
                if re.fullmatch(r"[\w.]+\.(weight|bias)", plain):
                    self.fractions[f"{prefix}{plain.removeprefix('model.')}"] = name
        self.quantised.pop(
            "proj_out.weight", None
        )  # the embedding's twin: the tuning leaves both as they are

    @staticmethod
    def beside(tensor: str, part: str) -> str:
        """The name of a quantised tensor's scale or zero point."""
        return tensor.removesuffix("_quantized") + {"scale": "_scale", "zero": "_zero_point"}[part]

    def number(self, name: str) -> Array:
        from onnx import numpy_helper

        return np.asarray(numpy_helper.to_array(self._stored[name][0]))

    def put(self, name: str, numbers: Array) -> None:
        from onnx import numpy_helper

        old = self.number(name)
        for tensor in self._stored[name]:
            tensor.CopyFrom(numpy_helper.from_array(numbers.astype(old.dtype).reshape(old.shape), name))


def _as_layer(name: str, numbers: Array) -> Array:
    """A layer's numbers are stored the other way round in the graph; the embedding's are not."""
    return numbers if name == EMBEDDING else numbers.T


def _both(folder: Path) -> Iterator[_Graph]:
    yield _Graph(folder / f"{ENCODER}.onnx", "encoder.")
    yield _Graph(folder / f"{DECODER}.onnx", "")


def _parts(graph: Any) -> Iterator[Any]:
    """A graph and the branches in it."""
    import onnx

    yield graph
    for node in graph.node:
        for attribute in node.attribute:
            if attribute.type == onnx.AttributeProto.GRAPH:
                yield from _parts(attribute.g)
