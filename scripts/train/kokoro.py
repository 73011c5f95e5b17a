"""The voice model Kokoro-82M in torch, many clips at once.

onnxruntime says one clip at a time; on a GPU that leaves nearly all of it idle. The model has two halves. The first
(`plan`) works out how many frames each token takes: clips with equally many tokens go through it together. The second
(`sound`) makes sound of the frames: clips with equally many frames go through it together, and the silence at a
clip's end is lengthened by up to three frames, so that
many have equally many. So no clip is ever padded, and each sounds as it would alone.

Its numbers come from `kokoro_weights.py`. Layers are called as in its graph.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import torch
from torch import Tensor, nn
from torch.nn import functional

from scripts.train.kokoro_input import RATE, STYLE_SIZE

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

FRAME_SAMPLES = 600
FRAME_STEP = 4
"""Clips take a number of frames that this divides."""

_LAYER = "encoder.bert.encoder.albert_layer_groups.0.albert_layers.0."
_SOURCE = "decoder.generator.m_source.l_linear"
_HEADS = 12
_LAYERS = 12
_HARMONICS = 9
_KERNELS = (3, 7, 11)
_DILATIONS = (1, 3, 5)
_SINE_LEVEL = 0.1
_VOICED_NOISE = 0.003
_VOICED_HERTZ = 10.0
_HOP = 5
_WINDOW = 20


@dataclass(frozen=True)
class Planned:
    """A clip half-way: what is to sound in each frame."""

    prosody: Tensor
    text: Tensor
    style: Tensor

    @property
    def frames(self) -> int:
        return len(self.prosody)


class Kokoro:
    """The model, on one device."""

    def __init__(self, weights: Mapping[str, NDArray[np.float32]], device: torch.device) -> None:
        self.device = device
        self._weights = {name: torch.from_numpy(one).to(device) for name, one in weights.items()}
        for name in [n for n in self._weights if n.endswith(".weight") and self._weights[n].ndim == 2]:
            if not name.endswith(("embedding.weight", "embeddings.weight")):
                self._weights[name] = (
                    self._weights[name].t().contiguous()
                )  # the graph multiplies from the left
        self._lstms = {
            name.removesuffix(".hidden"): self._lstm(name.removesuffix(".hidden"))
            for name in self._weights
            if name.endswith(".hidden")
        }
        self._window = torch.hann_window(_WINDOW, device=device)

    @torch.inference_mode()
    def plan(self, tokens: Tensor, style: Tensor, speed: Tensor) -> list[Planned]:
        """How long each token of each clip takes. `tokens` has one clip a row, with 0 before and behind."""
        prosody_style = style[:, STYLE_SIZE // 2 :]
        hidden = self._linear("encoder.bert_encoder", self._bert(tokens))
        prosody = self._with_style(hidden, prosody_style)
        for number in (0, 2, 4):
            name = f"encoder.predictor.text_encoder.lstms.{number}"
            out = functional.layer_norm(self._lstms[name](prosody)[0], (512,))
            gain, shift = self._linear(
                f"encoder.predictor.text_encoder.lstms.{number + 1}.fc", prosody_style
            ).chunk(2, -1)
            prosody = self._with_style((1 + gain[:, None]) * out + shift[:, None], prosody_style)
        lengths = self._linear(
            "encoder.predictor.duration_proj.linear_layer", self._lstms["encoder.predictor.lstm"](prosody)[0]
        )
        frames = (lengths.sigmoid().sum(-1) / speed[:, None]).round().clamp(min=1).long()
        frames[:, -1] += -frames.sum(1) % FRAME_STEP
        text = self._text(tokens)
        return [
            Planned(
                torch.repeat_interleave(prosody[clip], frames[clip], dim=0),
                torch.repeat_interleave(text[clip], frames[clip], dim=0),
                style[clip],
            )
            for clip in range(len(tokens))
        ]

    @torch.inference_mode()
    def sound(self, clips: Sequence[Planned], noise: float = 1.0) -> Tensor:
        """Sound at `RATE`, one clip a row, of clips with equally many frames."""
        style = torch.stack([clip.style for clip in clips])
        voice_style, prosody_style = style.chunk(2, -1)
        shared, _ = self._lstms["encoder.predictor.shared"](torch.stack([clip.prosody for clip in clips]))
        pitch = self._curve("F0", shared.transpose(1, 2), prosody_style)
        level = self._curve("N", shared.transpose(1, 2), prosody_style)
        text = torch.stack([clip.text for clip in clips]).transpose(1, 2)
        curves = [
            self._conv("decoder.F0_conv", pitch, stride=2, padding=1),
            self._conv("decoder.N_conv", level, stride=2, padding=1),
        ]
        hidden = self._block("decoder.encode", torch.cat([text, *curves], 1), voice_style)
        beside = [self._conv("decoder.asr_res", text), *curves]
        for number in range(4):
            hidden = self._block(f"decoder.decode.{number}", torch.cat([hidden, *beside], 1), voice_style)
        return self._generator(hidden, pitch[:, 0], voice_style, noise)

    def _bert(self, tokens: Tensor) -> Tensor:
        weights = self._weights
        at = torch.arange(tokens.shape[1], device=self.device)
        hidden = (
            weights["encoder.bert.embeddings.word_embeddings.weight"][tokens]
            + weights["encoder.bert.embeddings.position_embeddings.weight"][at]
            + weights["encoder.bert.embeddings.token_type_embeddings.weight"][0]
        )
        hidden = self._norm("encoder.bert.embeddings.LayerNorm", hidden)
        hidden = self._linear("encoder.bert.encoder.embedding_hidden_mapping_in", hidden)
        for _ in range(_LAYERS):
            query, key, value = (
                self._linear(f"{_LAYER}attention.{part}", hidden).unflatten(-1, (_HEADS, -1)).transpose(1, 2)
                for part in ("query", "key", "value")
            )
            heard = functional.scaled_dot_product_attention(query, key, value).transpose(1, 2).flatten(2)
            hidden = self._norm(
                f"{_LAYER}attention.LayerNorm", hidden + self._linear(f"{_LAYER}attention.dense", heard)
            )
            inner = functional.gelu(self._linear(f"{_LAYER}ffn", hidden), approximate="tanh")
            hidden = self._norm(
                f"{_LAYER}full_layer_layer_norm", hidden + self._linear(f"{_LAYER}ffn_output", inner)
            )
        return hidden

    def _text(self, tokens: Tensor) -> Tensor:
        hidden = self._weights["encoder.text_encoder.embedding.weight"][tokens].transpose(1, 2)
        for number in range(3):
            name = f"encoder.text_encoder.cnn.{number}"
            hidden = self._conv(name, hidden, padding=2).transpose(1, 2)
            gain, shift = self._weights[f"{name}.1.gamma"], self._weights[f"{name}.1.beta"]
            hidden = functional.layer_norm(hidden, (512,), gain, shift).transpose(1, 2)
            hidden = functional.leaky_relu(hidden, 0.2)
        out: Tensor = self._lstms["encoder.text_encoder.lstm"](hidden.transpose(1, 2))[0]
        return out

    def _curve(self, name: str, hidden: Tensor, style: Tensor) -> Tensor:
        for number in range(3):
            hidden = self._block(f"encoder.predictor.{name}.{number}", hidden, style)
        return self._conv(f"encoder.predictor.{name}_proj", hidden)

    def _generator(self, hidden: Tensor, pitch: Tensor, style: Tensor, noise: float) -> Tensor:
        name = "decoder.generator"
        source = torch.stft(
            self._source(pitch, noise),
            _WINDOW,
            _HOP,
            _WINDOW,
            self._window,
            pad_mode="reflect",
            return_complex=True,
        )
        spectrum = torch.cat([source.abs(), source.angle()], 1)
        for number, (step, kernel) in enumerate(((10, 7), (6, 11))):
            hidden = functional.leaky_relu(hidden, 0.1)
            excitation = self._conv(
                f"{name}.noise_convs.{number}", spectrum, stride=6 - 5 * number, padding=3 - 3 * number
            )
            excitation = self._residual(f"{name}.noise_res.{number}", excitation, style, kernel)
            hidden = functional.conv_transpose1d(
                hidden,
                self._weights[f"{name}.ups.{number}.weight"],
                self._weights[f"{name}.ups.{number}.bias"],
                stride=step,
                padding=step // 2,
            )
            if number == 1:
                hidden = functional.pad(hidden, (1, 0), mode="reflect")
            hidden = hidden + excitation
            hidden = sum(
                self._residual(f"{name}.resblocks.{3 * number + at}", hidden, style, _KERNELS[at])
                for at in range(3)
            ) / len(_KERNELS)  # type: ignore[assignment]
        hidden = self._conv(f"{name}.conv_post", functional.leaky_relu(hidden), padding=3)
        half = _WINDOW // 2 + 1
        wave = torch.polar(hidden[:, :half].float().exp(), hidden[:, half:].float().sin())
        return torch.istft(wave, _WINDOW, _HOP, _WINDOW, self._window)

    def _source(self, pitch: Tensor, noise: float) -> Tensor:
        """A sum of the pitch's harmonics where there is voice, noise where there is none."""
        harmonics = torch.arange(1, _HARMONICS + 1, device=self.device, dtype=torch.float32)[None, :, None]
        step = FRAME_SAMPLES // 2
        turns = ((pitch[:, None] * harmonics / RATE) % 1).double().cumsum(-1) * step
        turns = functional.interpolate(turns, scale_factor=step, mode="linear")
        voiced = (pitch > _VOICED_HERTZ).float().repeat_interleave(step, 1)[:, None]
        waves = torch.sin(((turns % 1) * 2 * math.pi).float()) * _SINE_LEVEL * voiced
        level = voiced * _VOICED_NOISE + (1 - voiced) * _SINE_LEVEL / 3
        waves = waves + noise * level * torch.randn_like(waves)
        return torch.tanh(self._linear(_SOURCE, waves.transpose(1, 2)))[..., 0]

    def _residual(self, name: str, hidden: Tensor, style: Tensor, kernel: int) -> Tensor:
        for number, dilation in enumerate(_DILATIONS):
            inner = hidden
            for half, spread in ((1, dilation), (2, 1)):
                inner = self._styled(f"{name}.adain{half}.{number}", inner, style)
                bend = self._weights[f"{name}.alpha{half}.{number}"]
                inner = inner + torch.sin(bend * inner).square() / bend
                inner = self._conv(
                    f"{name}.convs{half}.{number}", inner, padding=spread * (kernel - 1) // 2, dilation=spread
                )
            hidden = hidden + inner
        return hidden

    def _block(self, name: str, hidden: Tensor, style: Tensor) -> Tensor:
        inner = functional.leaky_relu(self._styled(f"{name}.norm1", hidden, style), 0.2)
        if f"{name}.pool.weight" in self._weights:
            weight, bias = self._weights[f"{name}.pool.weight"], self._weights[f"{name}.pool.bias"]
            inner = functional.conv_transpose1d(
                inner, weight, bias, stride=2, padding=1, output_padding=1, groups=len(weight)
            )
            hidden = hidden.repeat_interleave(2, -1)
        inner = self._conv(f"{name}.conv1", inner, padding=1)
        inner = functional.leaky_relu(self._styled(f"{name}.norm2", inner, style), 0.2)
        inner = self._conv(f"{name}.conv2", inner, padding=1)
        if f"{name}.conv1x1.weight" in self._weights:
            hidden = self._conv(f"{name}.conv1x1", hidden)
        return (inner + hidden) / math.sqrt(2)

    def _styled(self, name: str, hidden: Tensor, style: Tensor) -> Tensor:
        gain, shift = self._linear(f"{name}.fc", style)[..., None].chunk(2, 1)
        return (1 + gain) * functional.instance_norm(hidden) + shift

    def _linear(self, name: str, hidden: Tensor) -> Tensor:
        return functional.linear(hidden, self._weights[f"{name}.weight"], self._weights[f"{name}.bias"])

    def _norm(self, name: str, hidden: Tensor) -> Tensor:
        weight, bias = self._weights[f"{name}.weight"], self._weights[f"{name}.bias"]
        return functional.layer_norm(hidden, weight.shape, weight, bias, 1e-12)

    def _conv(
        self, name: str, hidden: Tensor, stride: int = 1, padding: int = 0, dilation: int = 1
    ) -> Tensor:
        weight, bias = self._weights[f"{name}.weight"], self._weights.get(f"{name}.bias")
        return functional.conv1d(hidden, weight, bias, stride, padding, dilation)

    @staticmethod
    def _with_style(hidden: Tensor, style: Tensor) -> Tensor:
        return torch.cat([hidden, style[:, None].expand(-1, hidden.shape[1], -1)], -1)

    def _lstm(self, name: str) -> nn.LSTM:
        into, again, bias = (self._weights[f"{name}.{part}"] for part in ("input", "hidden", "bias"))
        size = again.shape[1]
        lstm = nn.LSTM(into.shape[1], size, bidirectional=True, batch_first=True)
        order = [
            0,
            2,
            3,
            1,
        ]  # the graph's gates are input, output, forget, cell; torch's input, forget, cell, output

        def gates(one: Tensor) -> Tensor:
            parts = one.split(size)
            return torch.cat([parts[at] for at in order])

        for way, suffix in enumerate(("", "_reverse")):
            setattr(lstm, f"weight_ih_l0{suffix}", nn.Parameter(gates(into[way].t())))
            setattr(lstm, f"weight_hh_l0{suffix}", nn.Parameter(gates(again[way].t())))
            setattr(lstm, f"bias_ih_l0{suffix}", nn.Parameter(gates(bias[way][: 4 * size])))
            setattr(lstm, f"bias_hh_l0{suffix}", nn.Parameter(gates(bias[way][4 * size :])))
        lstm = lstm.to(self.device).eval().requires_grad_(False)
        lstm.flatten_parameters()
        return lstm
