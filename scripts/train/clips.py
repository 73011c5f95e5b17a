"""All clips in the GPU's memory, and the examples that are drawn from them.

An example is one to four clips of one voice with pauses between them, at some pace and pitch, with some silence before
and behind: what the program's endpointer cuts out of a session. A small share has no speech.
"""

from __future__ import annotations

import random
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import torch
from torch import Tensor

from scripts.train.moonshine import BEGIN, END
from scripts.train.rows import Row
from scripts.train.shards import RATE, new_shards, read_shard

SHARES = {"kokoro": 0.52, "hibari": 0.16, "espeak": 0.24, "flite": 0.08}
"""Of each family in what is drawn."""
FEW_CLIPS = 8000
"""A family of fewer clips has less of a share, or it would be learnt by heart while it still begins."""
NO_SPEECH_SHARE = 0.03
LONGEST_SECONDS = 14.0
IGNORED = -100
"""The target behind a text's end."""

_GRID = 4000
"""Batches are a multiple of so many samples long, so that few sizes come up."""
_SHORT_WORDS = 3


@dataclass(frozen=True)
class Example:
    """Clips, by their numbers, one behind another."""

    clips: tuple[int, ...]
    pauses: tuple[float, ...]
    """In samples: before the first, between, behind the last."""
    pace: float = 1.0
    cut: tuple[int, int] = (0, 0)
    """Samples that are missing at the first clip's beginning and the last one's end."""


@dataclass(frozen=True)
class Batch:
    """Sound and texts of examples."""

    samples: Tensor
    lengths: Tensor
    spoken: Tensor
    """1 where there is speech."""
    tokens: Tensor
    targets: Tensor


@dataclass
class Pool:
    """Clips, as they come in."""

    rows: list[Row]
    device: torch.device
    capacity: int
    """In samples."""
    by_family: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    _by_voice: dict[tuple[str, int], list[int]] = field(default_factory=lambda: defaultdict(list))
    _starts: list[int] = field(default_factory=list)
    lengths: list[int] = field(default_factory=list)
    _row: list[int] = field(default_factory=list)
    _voice: list[tuple[str, int]] = field(default_factory=list)
    _known: set[str] = field(default_factory=set)
    _filled: int = 0
    _left: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))

    def __post_init__(self) -> None:
        self._samples = torch.zeros(self.capacity, dtype=torch.int16, device=self.device)

    def take_in(self, folder: Path) -> int:
        """Loads the files that came since; says how many."""
        paths = new_shards(folder, self._known) if folder.is_dir() else []
        for path in paths:
            self._take_in_file(path)
        return len(paths)

    def _take_in_file(self, path: Path) -> None:
        family = path.name.split("_")[0]
        clips = list(read_shard(path))
        joined = np.concatenate([clip.samples for clip in clips])
        if self._filled + len(joined) > self.capacity:
            return
        self._samples[self._filled : self._filled + len(joined)] = torch.from_numpy(joined).to(self.device)
        for clip in clips:
            number = len(self._starts)
            self._starts.append(self._filled)
            self.lengths.append(len(clip.samples))
            self._row.append(clip.row)
            self._voice.append((family, clip.voice))
            self.by_family[family].append(number)
            self._by_voice[family, clip.voice].append(number)
            self._filled += len(clip.samples)

    def __len__(self) -> int:
        return len(self._starts)

    @property
    def hours(self) -> float:
        return self._filled / RATE / 3600

    def row(self, clip: int) -> Row:
        return self.rows[self._row[clip]]

    def draw(self, chance: random.Random) -> Example:
        """An example."""
        if chance.random() < NO_SPEECH_SHARE:
            return Example((), (chance.uniform(0.5, 6) * RATE,))
        families = [family for family in SHARES if self.by_family[family]]
        weights = [SHARES[family] * min(1.0, len(self.by_family[family]) / FEW_CLIPS) for family in families]
        family = chance.choices(families, weights)[0]
        clips = [self._next_of(family, chance)]
        short = len(self.row(clips[0]).tokens) <= _SHORT_WORDS
        if chance.random() < (0.45 if short else 0.30):
            same = self._by_voice[self._voice[clips[0]]]
            if family == "espeak" and len(same) < 8:
                same = self.by_family[family]
            clips.extend(chance.choices(same, k=chance.choice((1, 1, 1, 2, 2, 3))))
        pace = chance.uniform(0.86, 1.2) if chance.random() < 0.7 else 1.0
        pauses = [
            chance.uniform(0.03, 0.5) * RATE,
            *(10 ** chance.uniform(-1.3, -0.05) * RATE for _ in clips[1:]),
            chance.uniform(0.03, 0.6) * RATE,
        ]
        while len(clips) > 1 and self._samples_of(clips, pauses, pace) > LONGEST_SECONDS * RATE:
            del clips[-1], pauses[-2]
        cut = (0, 0)
        if chance.random() < 0.15 and min(self.lengths[clips[0]], self.lengths[clips[-1]]) > _GRID * 1.5:
            cut = (
                chance.randrange(1000),
                chance.randrange(1600),
            )  # clips begin 50 ms before, end 100 ms after speech
        return Example(tuple(clips), tuple(pauses), pace, cut)

    def size(self, example: Example) -> float:
        """In samples."""
        return self._samples_of(example.clips, example.pauses, example.pace)

    def batches(self, count: int, size: int, chance: random.Random) -> list[list[Example]]:
        """So many examples in batches of `size`, those of about equal length together."""
        examples = [self.draw(chance) for _ in range(count)]
        examples.sort(key=lambda example: self.size(example) + chance.uniform(0, _GRID))
        batches = [examples[at : at + size] for at in range(0, len(examples), size)]
        chance.shuffle(batches)
        return [batch for batch in batches if len(batch) > 1]

    def batch(self, examples: list[Example]) -> Batch:
        """The sound of examples, nothing done to it yet, and their texts."""
        most = max(1, *(len(example.clips) for example in examples))
        start, source, length = (np.zeros((len(examples), most), np.int64) for _ in range(3))
        total = np.zeros(len(examples), np.int64)
        for at, example in enumerate(examples):
            place = example.pauses[0]
            for number, clip in enumerate(example.clips):
                ahead = example.cut[0] if number == 0 else 0
                behind = example.cut[1] if number == len(example.clips) - 1 else 0
                start[at, number], source[at, number] = int(place), self._starts[clip] + ahead
                length[at, number] = self.lengths[clip] - ahead - behind
                place += length[at, number] / example.pace + example.pauses[number + 1]
            total[at] = max(RATE // 2, int(place))
        samples = self._joined(
            start, source, length, np.array([[example.pace] for example in examples]), total
        )
        tokens, targets = self._texts(examples)
        spoken = torch.tensor([[float(bool(example.clips))] for example in examples], device=self.device)
        return Batch(samples, torch.from_numpy(total).to(self.device), spoken, tokens, targets)

    def _joined(
        self, start: np.ndarray, source: np.ndarray, length: np.ndarray, pace: np.ndarray, total: np.ndarray
    ) -> Tensor:
        size = -(-int(total.max()) // _GRID) * _GRID
        begin, first, count = (torch.from_numpy(one).to(self.device) for one in (start, source, length))
        rate = torch.from_numpy(pace).float().to(self.device)
        at = torch.arange(size, device=self.device)[None]
        joined = torch.zeros(len(start), size, device=self.device)
        for number in range(start.shape[1]):
            place = (at - begin[:, number : number + 1]).float() * rate
            many = count[:, number : number + 1]
            inside = (place >= 0) & (place < many - 2)
            whole = place.clamp(min=0).floor()
            before = torch.minimum(whole.long(), (many - 2).clamp(min=0)) + first[:, number : number + 1]
            part = place.clamp(min=0) - whole
            heard = self._samples[before].float() * (1 - part) + self._samples[before + 1].float() * part
            joined += torch.where(inside, heard / 32768, torch.zeros((), device=self.device))
        return joined

    def _texts(self, examples: list[Example]) -> tuple[Tensor, Tensor]:
        texts = [[token for clip in example.clips for token in self.row(clip).tokens] for example in examples]
        size = max(map(len, texts)) + 1
        tokens = np.full((len(texts), size), END, np.int64)
        targets = np.full((len(texts), size), IGNORED, np.int64)
        tokens[:, 0] = BEGIN
        for at, text in enumerate(texts):
            tokens[at, 1 : len(text) + 1] = text
            targets[at, : len(text) + 1] = [*text, END]
        return torch.from_numpy(tokens).to(self.device), torch.from_numpy(targets).to(self.device)

    def _next_of(self, family: str, chance: random.Random) -> int:
        """The next clip of a family: each comes once before any comes again."""
        left = self._left[family]
        if not left:
            left.extend(chance.sample(self.by_family[family], len(self.by_family[family])))
        return left.pop()

    def _samples_of(
        self, clips: tuple[int, ...] | list[int], pauses: tuple[float, ...] | list[float], pace: float
    ) -> float:
        return sum(pauses) + sum(self.lengths[clip] for clip in clips) / pace
