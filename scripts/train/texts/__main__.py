"""Writes the training texts: python -m scripts.train.texts --english FOLDER --out FOLDER [--seed S] [--lines N]

`lines.jsonl.gz` and `development.jsonl.gz`, one JSON object a line (`lines.py`), and on the screen how many there are
of each kind. The same seed and the same English texts (`sources.py` fetches them) make the same bytes. Takes some
minutes.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

from scripts.train.texts.english import english_in
from scripts.train.texts.held_out import held_out
from scripts.train.texts.lines import (
    DEVELOPMENT_FILE,
    GENERAL_ENGLISH,
    KINDS,
    LINES,
    LINES_FILE,
    Line,
    write_lines,
)
from scripts.train.texts.mixture import make_texts


def counts(lines: tuple[Line, ...]) -> str:
    """How many lines there are of each kind."""
    kinds = Counter(line.kind for line in lines)
    general = sum(kinds[kind] for kind in GENERAL_ENGLISH)
    of_kinds = ", ".join(f"{kinds[kind]} {kind}" for kind in KINDS)
    distinct = len({(line.spoken, line.written) for line in lines})
    return f"{len(lines)} lines, {distinct} distinct, {general / len(lines):.0%} general English: {of_kinds}"


def main(arguments: list[str]) -> int:
    """Write the two files."""
    parser = argparse.ArgumentParser(
        prog="python -m scripts.train.texts",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "--english", type=Path, required=True, help="what scripts.train.texts.sources fetched"
    )
    parser.add_argument("--out", type=Path, required=True, help="the folder that the files are written into")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--lines", type=int, default=LINES, help=f"about so many (default {LINES})")
    options = parser.parse_args(arguments)
    if options.lines < 1000:
        parser.error("--lines: make 1000 at least, or some kinds have none")
    try:
        english = english_in(options.english)
        options.out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        print(
            f"scripts.train.texts: {error.filename}: {error.strerror}; fetch the English texts with "
            "python -m scripts.train.texts.sources FOLDER",
            file=sys.stderr,
        )
        return 2
    texts = make_texts(english, held_out(), options.seed, options.lines)
    write_lines(options.out / LINES_FILE, texts.lines)
    write_lines(options.out / DEVELOPMENT_FILE, texts.development)
    print(counts(texts.lines))
    print("development:", counts(texts.development))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
