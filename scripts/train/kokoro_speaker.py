"""Rows spoken by Kokoro: words to phonemes in processes beside, then many clips at once on the GPU."""

from __future__ import annotations

import json
import multiprocessing
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

import numpy as np
import torch
from numpy.typing import NDArray
from torch.nn import functional

from scripts.train.kokoro import Kokoro, Planned
from scripts.train.kokoro_input import RATE, Pronouncer, tokens_of
from scripts.train.packed_numbers import unpack
from scripts.train.rows import Row, spoken_aloud
from scripts.train.voices import KOKORO_DEVELOPMENT, KOKORO_TRAINING, drawn_blend

TOGETHER = 32
"""Clips in a batch."""
WAITING = 4096
"""More than so many wait for others of their length: then the fullest group goes."""
LONGEST_TOKENS = 165

_PACES = (0.8, 0.9, 1.0, 1.0, 1.1, 1.2, 1.35, 1.5)
_PHONEME_PROCESSES = 4


@dataclass
class _Asked:
    row: int
    tokens: list[int]
    style: NDArray[np.float32]
    pace: float
    voice: str


Item = TypeVar("Item")


class _Groups(Generic[Item]):
    """Things that wait until there are enough of equal size."""

    def __init__(self) -> None:
        self._groups: dict[int, list[Item]] = defaultdict(list)
        self.waiting = 0

    def add(self, size: int, item: Item) -> list[Item]:
        """The group that is full now, or nothing."""
        group = self._groups[size]
        group.append(item)
        self.waiting += 1
        if len(group) >= TOGETHER:
            return self._taken(size)
        if self.waiting > WAITING:
            return self.fullest()
        return []

    def fullest(self) -> list[Item]:
        if not self.waiting:
            return []
        return self._taken(max(self._groups, key=lambda size: len(self._groups[size])))

    def _taken(self, size: int) -> list[Item]:
        group = self._groups.pop(size)
        self.waiting -= len(group)
        return group


def spoken_by_kokoro(
    work: Path, rows: list[Row], order: list[int], chance: np.random.Generator, development: bool = False
) -> Iterator[tuple[int, NDArray[np.float32], str]]:
    """Row, sound at 16 kHz and voice, in whatever order they come out."""
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.manual_seed(int(chance.integers(2**31)))
    model = Kokoro(unpack(work / "kokoro.npz.xz"), device)
    to_16_khz = _Resampler(device)
    plans: _Groups[_Asked] = _Groups()
    sounds: _Groups[tuple[_Asked, Planned]] = _Groups()

    def planned(group: list[_Asked]) -> Iterator[list[tuple[_Asked, Planned]]]:
        tokens = torch.tensor([asked.tokens for asked in group], device=device)
        style = torch.from_numpy(np.stack([asked.style for asked in group])).to(device)
        pace = torch.tensor([asked.pace for asked in group], device=device)
        for asked, plan in zip(group, model.plan(tokens, style, pace), strict=True):
            if full := sounds.add(plan.frames, (asked, plan)):
                yield full

    def said(group: list[tuple[_Asked, Planned]]) -> Iterator[tuple[int, NDArray[np.float32], str]]:
        heard = to_16_khz(model.sound([plan for _, plan in group])).cpu().numpy()
        for (asked, _), sound in zip(group, heard, strict=True):
            yield asked.row, sound, asked.voice

    for asked in _asked(work, rows, order, chance, development):
        if group := plans.add(len(asked.tokens), asked):
            for full in planned(group):
                yield from said(full)
    while group := plans.fullest():
        for full in planned(group):
            yield from said(full)
    while rest := sounds.fullest():
        yield from said(rest)


def _asked(
    work: Path, rows: list[Row], order: list[int], chance: np.random.Generator, development: bool
) -> Iterator[_Asked]:
    voices = KOKORO_DEVELOPMENT if development else KOKORO_TRAINING
    with np.load(work / "kokoro_voices.npz") as stored:
        styles = {name: stored[name].astype(np.float32) for name in voices}
    vocabulary = json.loads((work / "kokoro_vocabulary.json").read_text("utf-8"))
    texts = ((row, spoken_aloud(rows[row].spoken)) for row in order)
    processes = 1 if development else _PHONEME_PROCESSES
    with multiprocessing.get_context("spawn").Pool(processes, _start_phonemes, (str(work),)) as pool:
        for row, phonemes in pool.imap(_phonemes, texts, chunksize=16):
            tokens = tokens_of(phonemes, vocabulary)
            if not 2 <= len(tokens) <= LONGEST_TOKENS:
                continue
            blend = drawn_blend(chance, voices)
            style = styles[blend.first][len(tokens)] * (1 - blend.share)
            style = style + styles[blend.second][len(tokens)] * blend.share
            yield _Asked(row, [0, *tokens, 0], style, float(chance.choice(_PACES)), blend.first)


def _start_phonemes(work: str) -> None:
    import sys

    global _engine  # noqa: PLW0603  # a process of the pool has one
    sys.path.insert(0, work)
    _engine = Pronouncer()


def _phonemes(asked: tuple[int, str]) -> tuple[int, str]:
    row, text = asked
    try:
        return row, str(_engine.phonemes(text))
    except Exception as error:  # a text that it can't say is left out
        print(f"kokoro: '{text}': {error}", flush=True)
        return row, ""


class _Resampler:
    """24 kHz to 16 kHz: twice as many samples, none above 7.6 kHz, every third of them."""

    def __init__(self, device: torch.device) -> None:
        half = 96
        at = torch.arange(-half, half + 1, device=device, dtype=torch.float32)
        cut = 7600 / RATE
        kernel = torch.sinc(at * cut) * torch.kaiser_window(2 * half + 1, False, 8.0, device=device)
        self._kernel = (kernel / kernel.sum() * 2)[None, None]
        self._half = half

    def __call__(self, sound: torch.Tensor) -> torch.Tensor:
        more = torch.stack([sound, torch.zeros_like(sound)], -1).flatten(1)
        return functional.conv1d(more[:, None], self._kernel, stride=3, padding=self._half)[:, 0]
