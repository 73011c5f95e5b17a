"""Makes the folder of the speech model: tuned weights in its two ONNX graphs, and the tokens that it needs.

    python -m scripts.train.export SOURCES WEIGHTS LINES TO

SOURCES: the folder that `pack` was given, with the untuned ONNX graphs that it made. WEIGHTS: w0.npz, …, as they came
back. LINES: lines.jsonl.gz, whose words must be written as before. TO: models/phraseology-en of the checkout.
"""

from __future__ import annotations

import hashlib
import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from scripts.train.graphs import cut_vocabulary, write_numbers
from scripts.train.points import read_weights
from scripts.train.rows import read_lines
from scripts.train.vocabulary import check_same_cuts, kept_tokens, tokeniser_file
from voice_trainer.recognition.likelihood.model_files import DESCRIPTION, FILES, NAME
from voice_trainer.recognition.likelihood.tokeniser import read_pieces

ABOUT: Mapping[str, Any] = {
    "name": NAME,
    "version": "1",
    "base_model": "tiny-en of the wheel moonshine-voice 0.1.0",
    "licence": "MIT; see LICENSE",
}


def main(arguments: list[str]) -> None:
    sources, weights, lines, to = map(Path, arguments)
    left = write_numbers(sources / "graphs", read_weights(weights), to)
    if left:
        raise SystemExit(f"the graphs in {sources} have no place for {', '.join(left[:5])}")
    pieces = read_pieces(sources / "tiny-en" / "tokenizer.bin")
    words = sorted({word for line in read_lines(lines) for word in line.written.split()})
    kept = kept_tokens(pieces, words)
    left_pieces = [pieces[token] for token in kept]
    check_same_cuts(pieces, left_pieces, words)
    cut_vocabulary(to, kept)
    (to / "tokenizer.bin").write_bytes(tokeniser_file(left_pieces))
    (to / DESCRIPTION).write_text(described(to), encoding="utf-8")
    print(f"{len(kept)} of {len(pieces)} tokens, for {len(words)} words")
    for name in FILES:
        print(f"{to / name}: {(to / name).stat().st_size / 1e6:.1f} MB")


def described(folder: Path) -> str:
    """What model.json says of the model in `folder`: what it is, and the SHA-256 of each of its files."""
    hashes = {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in FILES}
    return json.dumps({**ABOUT, "files": hashes}, indent=2) + "\n"


if __name__ == "__main__":
    main(sys.argv[1:])
