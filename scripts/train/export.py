"""Writes tuned weights into the speech model's two ONNX graphs.

    python -m scripts.train.export GRAPHS WEIGHTS TO

GRAPHS: the untuned ONNX graphs (made by `pack`). WEIGHTS: w0.npz, …, as they came back.
"""

from __future__ import annotations

import sys
from pathlib import Path

from scripts.train.graphs import write_numbers
from scripts.train.points import read_weights


def main(arguments: list[str]) -> None:
    graphs, weights, to = map(Path, arguments)
    left = write_numbers(graphs, read_weights(weights), to)
    if left:
        raise SystemExit(f"the graphs in {graphs} have no place for {', '.join(left[:5])}")
    for path in sorted(to.glob("*.onnx")):
        print(f"{path}: {path.stat().st_size / 1e6:.1f} MB")


if __name__ == "__main__":
    main(sys.argv[1:])
