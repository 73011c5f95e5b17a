"""Points of a training: the weights that were learnt, in half precision, in parts small enough to be sent back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scripts.train.moonshine import Moonshine

LARGEST_PART_BYTES = 15_500_000

Weights = dict[str, NDArray[np.float32]]


def save_point(folder: Path, model: Moonshine) -> None:
    """Writes what was learnt of a model."""
    unfinished = folder.with_name("unfinished")
    learnt = {name: one for name, one in model.named_parameters() if one.requires_grad}
    save_weights(unfinished, {name: one.detach().float().cpu().numpy() for name, one in learnt.items()})
    unfinished.replace(folder)


def save_weights(folder: Path, weights: Mapping[str, NDArray[np.float32]]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    part: dict[str, NDArray[np.float16]] = {}
    size = number = 0
    for name, one in weights.items():
        half = one.astype(np.float16)
        if part and size + half.nbytes > LARGEST_PART_BYTES:
            np.savez(folder / f"w{number}.npz", **part)  # type: ignore[arg-type]
            part, size, number = {}, 0, number + 1
        part[name] = half
        size += half.nbytes
    np.savez(folder / f"w{number}.npz", **part)  # type: ignore[arg-type]


def read_weights(folder: Path) -> Weights:
    weights: Weights = {}
    for path in sorted(folder.glob("*w?.npz")):
        with np.load(path) as stored:
            weights.update({name: stored[name].astype(np.float32) for name in stored.files})
    if not weights:
        raise FileNotFoundError(f"{folder} has no weights (w0.npz, …)")
    return weights


def mean(points: Iterable[Weights]) -> Weights:
    """The mean of several."""
    points = list(points)
    return {name: np.mean([point[name] for point in points], axis=0, dtype=np.float32) for name in points[0]}


def between(untuned: Mapping[str, NDArray[np.float32]], tuned: Weights, share: float) -> Weights:
    """On the straight line: 0 the untuned, 1 the tuned."""
    return {
        name: np.asarray(untuned[name] + share * (one - untuned[name].reshape(one.shape)), np.float32)
        for name, one in tuned.items()
    }


def put(model: Moonshine, weights: Weights) -> None:
    """Gives a model these weights; what is not among them stays."""
    import torch

    model.load_state_dict({name: torch.from_numpy(one) for name, one in weights.items()}, strict=False)
