"""One worker that speaks rows, one family of voices: until all are spoken, or the time is up.

    python -m scripts.train.speak FAMILY WORK CLIPS --worker 0 --of 4 --seconds 600 [--clips 10000] [--development]

WORK holds rows.json.gz, development.json.gz and libraries/; for kokoro its numbers, its voices, its vocabulary and the
package hibari, which tells how words sound. Files of clips come into CLIPS, development ones into CLIPS/development.
"""

from __future__ import annotations

import argparse
import sys
import time
import zlib
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from scripts.train.rows import Row, read_rows
from scripts.train.shards import Clip, ShardWriter, trimmed
from scripts.train.voices import ESPEAK_DEVELOPMENT, ESPEAK_TRAINING

FAMILIES = ("kokoro", "hibari", "espeak", "flite")
_START = {"kokoro": 0.0, "hibari": 0.5, "espeak": 0.25, "flite": 0.75}
"""Where in the rows a family begins, so that together they say as many of them as can be."""
DEVELOPMENT_CLIPS = {"kokoro": 300, "espeak": 100}


def order_of(family: str, count: int, seed: int) -> list[int]:
    """In which order a family says the rows."""
    order = np.random.default_rng(seed).permutation(count)
    return [int(row) for row in np.roll(order, -round(_START[family] * count))]


def parsed(arguments: list[str]) -> argparse.Namespace:
    reader = argparse.ArgumentParser(
        prog="speak", description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    reader.add_argument("family", choices=FAMILIES)
    reader.add_argument("work", type=Path)
    reader.add_argument("clips_folder", type=Path)
    reader.add_argument("--worker", type=int, default=0)
    reader.add_argument("--of", type=int, default=1)
    reader.add_argument("--seconds", type=float, default=600)
    reader.add_argument("--clips", type=int, default=10**9)
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--development", action="store_true")
    return reader.parse_args(arguments)


def main(arguments: list[str]) -> None:
    given = parsed(arguments)
    ends = time.monotonic() + given.seconds
    rows = read_rows(given.work / ("development.json.gz" if given.development else "rows.json.gz"))
    order = order_of(given.family, len(rows), given.seed)
    if given.development:
        order = order[: DEVELOPMENT_CLIPS[given.family]]
    order = order[given.worker :: given.of][: given.clips]
    folder = given.clips_folder / "development" if given.development else given.clips_folder
    writer = ShardWriter(folder, f"{given.family}_{given.worker}", 500 if given.family == "kokoro" else 200)
    chance = np.random.default_rng([given.worker, given.seed, zlib.crc32(given.family.encode())])
    bad = 0
    for row, sound, voice in _spoken(given, rows, order, chance):
        try:
            writer.add(Clip(trimmed(sound), row, zlib.crc32(voice.encode()) % 32768))
        except ValueError:
            bad += 1
        if time.monotonic() > ends:
            break
    writer.flush()
    print(f"{given.family} {given.worker}: {writer.clips} clips, {bad} without speech", flush=True)


def _spoken(
    given: argparse.Namespace, rows: list[Row], order: list[int], chance: np.random.Generator
) -> Iterator[tuple[int, np.ndarray, str]]:
    sys.path.insert(0, str(given.work))  # hibari travels as a folder
    if given.family == "kokoro":
        from scripts.train.kokoro_speaker import spoken_by_kokoro

        yield from spoken_by_kokoro(given.work, rows, order, chance, development=given.development)
        return
    from scripts.train.speakers import SPEAKERS, Hibari

    libraries = given.work / "libraries"
    if given.family == "hibari":
        speaker = Hibari()
    elif given.family == "espeak":
        variants = ESPEAK_DEVELOPMENT if given.development else ESPEAK_TRAINING
        speaker = SPEAKERS["espeak"](libraries, variants)  # type: ignore[assignment]
    else:
        speaker = SPEAKERS[given.family](libraries)  # type: ignore[assignment]
    for row in order:
        try:
            yield row, *speaker(rows[row].spoken, chance)
        except ValueError as error:
            print(f"{given.family} {given.worker}: '{rows[row].spoken}': {error}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
