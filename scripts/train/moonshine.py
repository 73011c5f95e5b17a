"""The speech model in torch: 27 million parameters, samples in, one of 32,768 pieces of text after another out.

The model is small enough to be written down whole. It differs from a plain port in one thing: clips of unequal length
go through it together and each comes out as it would alone. The first normalisation looks at the whole clip, so it
looks at what belongs to the clip only, not at the silence that fills up the batch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import torch
from torch import Tensor, nn
from torch.nn import functional

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

BEGIN, END = 1, 2
SIZE, HEADS, LAYERS = 288, 8, 6
HEAD_SIZE = SIZE // HEADS
TURNED = 32
"""So many numbers of each head are turned by their place."""
PIECES = 32768

_WIDE = 40
"""A GPU's quick attention wants heads of a size that 8 divides."""

Keys = tuple[Tensor, Tensor]


def frames_of(samples: Tensor) -> tuple[Tensor, Tensor]:
    """How many frames come of so many samples: after the first convolution, and after the last."""
    first = (samples - 127) // 64 + 1
    return first, ((first - 7) // 3 + 1 - 3) // 2 + 1


class Attention(nn.Module):
    def __init__(self) -> None:
        super().__init__()
        self.q_proj, self.k_proj, self.v_proj, self.o_proj = (
            nn.Linear(SIZE, SIZE, bias=False) for _ in range(4)
        )

    def keys(self, hidden: Tensor, turn: Tensor | None = None) -> Keys:
        """What is looked at."""
        key, value = _heads(self.k_proj(hidden)), _heads(self.v_proj(hidden))
        return (key if turn is None else _turned(key, turn)), value

    def forward(
        self,
        hidden: Tensor,
        keys: Keys,
        turn: Tensor | None = None,
        mask: Tensor | None = None,
        causal: bool = False,
    ) -> Tensor:
        query = _heads(self.q_proj(hidden))
        query = query if turn is None else _turned(query, turn)
        wide = [functional.pad(one, (0, _WIDE - HEAD_SIZE)) for one in (query, *keys)]
        seen = functional.scaled_dot_product_attention(*wide, mask, is_causal=causal, scale=HEAD_SIZE**-0.5)
        out: Tensor = self.o_proj(seen[..., :HEAD_SIZE].transpose(1, 2).flatten(2))
        return out


class EncoderLayer(nn.Module):
    def __init__(self) -> None:
        super().__init__()
        self.self_attn = Attention()
        self.mlp = nn.ModuleDict({"fc1": nn.Linear(SIZE, 4 * SIZE), "fc2": nn.Linear(4 * SIZE, SIZE)})
        self.input_layernorm = nn.LayerNorm(SIZE, bias=False)
        self.post_attention_layernorm = nn.LayerNorm(SIZE, bias=False)

    def forward(self, hidden: Tensor, turn: Tensor, mask: Tensor) -> Tensor:
        inner = self.input_layernorm(hidden)
        hidden = hidden + self.self_attn(inner, self.self_attn.keys(inner, turn), turn, mask)
        inner = functional.gelu(self.mlp["fc1"](self.post_attention_layernorm(hidden)))
        return hidden + self.mlp["fc2"](inner)


class Encoder(nn.Module):
    """Sound to frames."""

    def __init__(self) -> None:
        super().__init__()
        self.conv1 = nn.Conv1d(1, SIZE, 127, 64, bias=False)
        self.groupnorm = nn.GroupNorm(1, SIZE)
        self.conv2 = nn.Conv1d(SIZE, 2 * SIZE, 7, 3)
        self.conv3 = nn.Conv1d(2 * SIZE, SIZE, 3, 2)
        self.layers = nn.ModuleList(EncoderLayer() for _ in range(LAYERS))
        self.layer_norm = nn.LayerNorm(SIZE, bias=False)

    def forward(self, samples: Tensor, lengths: Tensor) -> tuple[Tensor, Tensor]:
        """Frames of each clip, and which of them belong to it (1, else 0)."""
        first, last = frames_of(lengths)
        hidden = torch.tanh(self.conv1(samples[:, None]))
        hidden = self._normalised(hidden.float(), first)
        hidden = functional.gelu(self.conv2(hidden))
        hidden = functional.gelu(self.conv3(hidden)).transpose(1, 2)
        inside = torch.arange(hidden.shape[1], device=hidden.device)[None] < last[:, None]
        mask = inside[:, None, None]
        turn = turns(hidden.shape[1], hidden.device)
        for layer in self.layers:
            hidden = layer(hidden, turn, mask)
        return self.layer_norm(hidden), inside

    def _normalised(self, hidden: Tensor, frames: Tensor) -> Tensor:
        inside = (torch.arange(hidden.shape[2], device=hidden.device)[None] < frames[:, None])[
            :, None
        ].float()
        count = (frames * SIZE).float()[:, None, None]
        middle = (hidden * inside).sum((1, 2), keepdim=True) / count
        spread = ((hidden - middle).square() * inside).sum((1, 2), keepdim=True) / count
        hidden = (hidden - middle) * torch.rsqrt(spread + self.groupnorm.eps)
        return hidden * self.groupnorm.weight[:, None] + self.groupnorm.bias[:, None]


class DecoderLayer(nn.Module):
    def __init__(self) -> None:
        super().__init__()
        self.self_attn, self.encoder_attn = Attention(), Attention()
        self.mlp = nn.ModuleDict({"fc1": nn.Linear(SIZE, 8 * SIZE), "fc2": nn.Linear(4 * SIZE, SIZE)})
        self.input_layernorm = nn.LayerNorm(SIZE, bias=False)
        self.post_attention_layernorm = nn.LayerNorm(SIZE, bias=False)
        self.final_layernorm = nn.LayerNorm(SIZE, bias=False)

    def forward(
        self, hidden: Tensor, own: Keys, sound: Keys, turn: Tensor, mask: Tensor, causal: bool
    ) -> Tensor:
        """`own` are the keys of the text so far, this piece's included."""
        hidden = hidden + self.self_attn(self.input_layernorm(hidden), own, turn, causal=causal)
        hidden = hidden + self.encoder_attn(self.post_attention_layernorm(hidden), sound, mask=mask)
        inner, gate = self.mlp["fc1"](self.final_layernorm(hidden)).chunk(2, -1)
        return hidden + self.mlp["fc2"](inner * functional.silu(gate))


class Decoder(nn.Module):
    """Frames and the text so far to the next piece of text."""

    def __init__(self) -> None:
        super().__init__()
        self.embed_tokens = nn.Embedding(PIECES, SIZE)
        self.layers = nn.ModuleList(DecoderLayer() for _ in range(LAYERS))
        self.norm = nn.LayerNorm(SIZE, bias=False)

    def forward(self, tokens: Tensor, sound: list[Keys], inside: Tensor) -> Tensor:
        """Scores of all pieces behind each token."""
        hidden = self.embed_tokens(tokens)
        turn, mask = turns(tokens.shape[1], tokens.device), inside[:, None, None]
        for layer, heard in zip(self.layers, sound, strict=True):
            own = layer.self_attn.keys(layer.input_layernorm(hidden), turn)
            hidden = layer(hidden, own, heard, turn, mask, True)
        return functional.linear(self.norm(hidden), self.embed_tokens.weight)

    def sound_keys(self, frames: Tensor) -> list[Keys]:
        return [layer.encoder_attn.keys(frames) for layer in self.layers]

    def step(self, token: Tensor, at: int, text: list[Keys], sound: list[Keys], inside: Tensor) -> Tensor:
        """Scores behind one more token, whose keys are added to `text`."""
        hidden = self.embed_tokens(token)[:, None]
        turn, mask = turns(at + 1, token.device)[:, at:], inside[:, None, None]
        for number, (layer, heard) in enumerate(zip(self.layers, sound, strict=True)):
            new = layer.self_attn.keys(layer.input_layernorm(hidden), turn)
            if at:
                new = (torch.cat([text[number][0], new[0]], 2), torch.cat([text[number][1], new[1]], 2))
            text[number : number + 1] = [new]
            hidden = layer(hidden, new, heard, turn, mask, False)
        return functional.linear(self.norm(hidden), self.embed_tokens.weight)[:, 0]


class Moonshine(nn.Module):
    """The whole model."""

    def __init__(self) -> None:
        super().__init__()
        self.encoder, self.decoder = Encoder(), Decoder()

    def forward(self, samples: Tensor, lengths: Tensor, tokens: Tensor) -> Tensor:
        """Scores of all pieces behind each token of each clip's text."""
        frames, inside = self.encoder(samples, lengths)
        scores: Tensor = self.decoder(tokens, self.decoder.sound_keys(frames), inside)
        return scores

    @torch.no_grad()
    def write(self, samples: Tensor, lengths: Tensor) -> list[list[int]]:
        """The likeliest piece after each other, for each clip; nobody says more than nine a second."""
        longest = 12 + 9 * samples.shape[1] // 16_000
        frames, inside = self.encoder(samples, lengths)
        sound, text = self.decoder.sound_keys(frames), []
        token = torch.full((len(samples),), BEGIN, device=samples.device)
        ended = torch.zeros(len(samples), dtype=torch.bool, device=samples.device)
        written = []
        for at in range(longest):
            token = self.decoder.step(token, at, text, sound, inside).argmax(-1)
            token = token.masked_fill(ended, END)
            ended |= token == END
            written.append(token)
            if at % 8 == 7 and bool(ended.all()):
                break
        rows = torch.stack(written, 1).tolist()
        return [row[: row.index(END)] if END in row else row for row in rows]


def loaded(numbers: Mapping[str, NDArray[np.float32]]) -> Moonshine:
    """A model with these numbers."""
    model = Moonshine()
    model.load_state_dict({name: torch.tensor(one) for name, one in numbers.items()})
    return model


def half_precision(device: torch.device) -> torch.autocast:
    """Half precision on a GPU; a processor would only be slower with it."""
    return torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda")


def turns(length: int, device: torch.device) -> Tensor:
    """By what each pair of numbers of a head is turned at each place: cosines and sines."""
    rates = 10000.0 ** (-torch.arange(0, TURNED, 2, device=device, dtype=torch.float32) / TURNED)
    angles = torch.arange(length, device=device, dtype=torch.float32)[:, None] * rates
    return torch.stack([angles.cos(), angles.sin()])


def _turned(heads: Tensor, turn: Tensor) -> Tensor:
    cosine, sine = turn.to(heads.dtype)
    even, odd = heads[..., 0:TURNED:2], heads[..., 1:TURNED:2]
    turned = torch.stack([even * cosine - odd * sine, odd * cosine + even * sine], -1).flatten(-2)
    return torch.cat([turned, heads[..., TURNED:]], -1)


def _heads(hidden: Tensor) -> Tensor:
    return hidden.unflatten(-1, (HEADS, HEAD_SIZE)).transpose(1, 2)
