"""Spoken clips in files: many in one, each written whole or not at all, so that a reader may come at any time."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
LONGEST_SECONDS = 13

_SUFFIX = ".npz"
_PEAK = 16_000
_AUDIBLE = 0.015
"""Of the peak: what is softer at the ends is cut off."""


@dataclass(frozen=True)
class Clip:
    """What one voice made of one row."""

    samples: NDArray[np.int16]
    row: int
    voice: int
    """A number that stands for its name: clips of one voice are joined to one utterance."""


class ShardWriter:
    """Collects clips, and writes a file of them now and then."""

    def __init__(self, folder: Path, name: str, clips_each: int) -> None:
        self._folder, self._name, self._clips_each = folder, name, clips_each
        self._clips: list[Clip] = []
        self._written = 0
        self.clips = 0
        folder.mkdir(parents=True, exist_ok=True)

    def add(self, clip: Clip) -> None:
        self._clips.append(clip)
        self.clips += 1
        if len(self._clips) >= self._clips_each:
            self.flush()

    def flush(self) -> None:
        if not self._clips:
            return
        path = self._folder / f"{self._name}_{self._written}"
        unfinished = path.with_suffix(".tmp")
        with unfinished.open("wb") as file:
            np.savez(
                file,
                samples=np.concatenate([clip.samples for clip in self._clips]),
                lengths=np.array([len(clip.samples) for clip in self._clips]),
                rows=np.array([clip.row for clip in self._clips]),
                voices=np.array([clip.voice for clip in self._clips]),
            )
        unfinished.replace(path.with_suffix(_SUFFIX))
        self._clips, self._written = [], self._written + 1


def new_shards(folder: Path, known: set[str]) -> list[Path]:
    """The files that came since; their names are added to `known`."""
    names = sorted(name for name in os.listdir(folder) if name.endswith(_SUFFIX) and name not in known)  # noqa: PTH208
    known.update(names)
    return [folder / name for name in names]


def read_shard(path: Path) -> Iterator[Clip]:
    with np.load(path) as stored:
        samples, lengths, rows, voices = (stored[name] for name in ("samples", "lengths", "rows", "voices"))
    ends = np.cumsum(lengths)
    for length, end, row, voice in zip(lengths, ends, rows, voices, strict=True):
        yield Clip(samples[end - length : end], int(row), int(voice))


def trimmed(sound: NDArray[np.float32]) -> NDArray[np.int16]:
    """Speech with a little before and behind it, as loud as all clips are kept; ValueError if it is none."""
    peak = float(np.abs(sound).max()) if len(sound) else 0.0
    if not np.isfinite(peak) or peak < 1e-4:
        raise ValueError("no sound")
    audible = np.flatnonzero(np.abs(sound) > _AUDIBLE * peak)
    sound = sound[max(0, audible[0] - RATE // 20) : audible[-1] + RATE // 10]
    if not RATE // 10 <= len(sound) <= LONGEST_SECONDS * RATE:
        raise ValueError("too short or too long")
    return np.asarray(sound / peak * _PEAK, np.int16)
