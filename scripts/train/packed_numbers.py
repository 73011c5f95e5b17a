"""A model's numbers in a small file: whole ones where the model is quantised, fractions elsewhere.

`NAME` holds whole numbers; `NAME:scale` and `NAME:zero` make fractions of them.
"""

from __future__ import annotations

import lzma
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping

Array = NDArray[Any]


def pack(weights: Mapping[str, Array], path: Path) -> None:
    """Writes the numbers, fractions in half precision, as small as they get."""
    memory = BytesIO()
    small = {
        name: one.astype(np.float16) if _is_large_fraction(one) else one for name, one in weights.items()
    }
    np.savez(memory, **small)  # type: ignore[arg-type]
    path.write_bytes(lzma.compress(memory.getvalue(), preset=6))


def unpack(path: Path) -> dict[str, NDArray[np.float32]]:
    """What `pack` wrote, as fractions."""
    with np.load(BytesIO(lzma.decompress(path.read_bytes()))) as stored:
        return dequantised({name: stored[name] for name in stored.files})


def dequantised(weights: Mapping[str, Array]) -> dict[str, NDArray[np.float32]]:
    """The numbers that quantised ones stand for."""
    whole: dict[str, NDArray[np.float32]] = {}
    for name, one in weights.items():
        if ":" in name:
            continue
        fraction = one.astype(np.float32)
        if f"{name}:scale" in weights:
            scale, zero = weights[f"{name}:scale"], weights[f"{name}:zero"].astype(np.float32)
            if (fraction.ndim == 3 and scale.ndim == 2) or (
                scale.ndim == 1 and len(scale) == 2
            ):  # an LSTM's two ways
                scale, zero = scale.reshape(2, 1, -1), zero.reshape(2, 1, -1)
            fraction = (fraction - zero) * scale.astype(np.float32)
        whole[name] = np.asarray(fraction, np.float32)
    return whole


def _is_large_fraction(one: Array) -> bool:
    return one.dtype == np.float32 and one.size > 4096
