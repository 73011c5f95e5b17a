"""Puts together what travels to the machine that trains, in two parts of which each goes with one call.

    python -m scripts.train.pack --lines FOLDER --sources FOLDER --to FOLDER

--lines: lines.jsonl.gz and development.jsonl.gz. --sources: kokoro-int8.onnx, its vocab.json, voices/*.bin, the
package hibari, and tiny-en, the speech model's folder of its wheel (how to get them: README.md here). The folder --to
gets `part1` (texts, the speech model, hibari, espeak-ng, flite, these scripts) and `part2` (Kokoro's numbers).
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import sys
import tarfile
from pathlib import Path

import numpy as np

from scripts.train import graphs, kokoro_weights, packed_numbers
from scripts.train.kokoro_input import read_styles, read_vocabulary
from scripts.train.rows import read_lines, row_of, write_rows
from scripts.train.speakers import LIBRARIES
from scripts.train.voices import FLITE_TRAINING, KOKORO_DEVELOPMENT, KOKORO_TRAINING
from voice_trainer.recognition.likelihood.tokeniser import Tokeniser, read_pieces

LARGEST_PART_BYTES = 58_000_000
"""With the working tree beside it, what one call may send."""

_STYLE_ROWS = 170
"""Kokoro has a style for each number of tokens; no row needs more."""
_NAMES = (
    "libsonic.so.0", "libespeak-ng.so.1", "libasound.so.2", "libflite.so.1", "libflite_usenglish.so.1",
    "libflite_cmulex.so.1", *(f"libflite_cmu_us_{name}.so.1" for name in FLITE_TRAINING),
)  # fmt: skip
_ESPEAK_DATA = ("phondata", "phonindex", "phontab", "intonations", "en_dict", "lang/gmw/en*", "voices/!v/*")
_NO_SOUND_CARD = """
void *create_audio_device_object(const char *a, const char *b, const char *c) { return 0; }
int audio_object_open() { return 0; } void audio_object_close() {} void audio_object_destroy() {}
int audio_object_write() { return 0; } int audio_object_drain() { return 0; } int audio_object_flush() { return 0; }
const char *audio_object_strerror() { return ""; }
"""
"""What espeak-ng asks for, and never calls when it only makes samples."""


def main(arguments: list[str]) -> None:
    reader = argparse.ArgumentParser(
        prog="pack", description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    for name in ("lines", "sources", "to"):
        reader.add_argument(f"--{name}", type=Path, required=True)
    given = reader.parse_args(arguments)
    first, second = given.to / "part1", given.to / "part2"
    first.mkdir(parents=True, exist_ok=True)
    second.mkdir(parents=True, exist_ok=True)
    _rows(given.lines, given.sources / "tiny-en", first)
    _speech_model(given.sources / "tiny-en", given.sources / "graphs", first)
    _kokoro(given.sources, first, second)
    tools = given.to / "tools"
    _libraries(tools / "libraries")
    _fresh_copy(given.sources / "hibari", tools / "hibari")
    with tarfile.open(first / "tools.tar.xz", "w:xz") as archive:
        for folder in sorted(tools.iterdir()):
            archive.add(folder, folder.name)
    _fresh_copy(Path(__file__).parent, first / "scripts" / "train")
    for part in (first, second):
        size = sum(path.stat().st_size for path in part.rglob("*") if path.is_file())
        print(f"{part}: {size / 1e6:.1f} MB")
        if size > LARGEST_PART_BYTES:
            raise SystemExit(
                f"{part} is larger than the {LARGEST_PART_BYTES / 1e6:.0f} MB that travel in one call"
            )


def _rows(lines: Path, model: Path, to: Path) -> None:
    tokeniser = Tokeniser(read_pieces(model / "tokenizer.bin"))
    for name, into in (("lines", "rows"), ("development", "development")):
        rows = [row_of(line, tokeniser) for line in read_lines(lines / f"{name}.jsonl.gz")]
        write_rows(rows, to / f"{into}.json.gz")
        print(f"{into}: {len(rows)}")


def _speech_model(model: Path, as_graphs: Path, to: Path) -> None:
    if not (as_graphs / f"{graphs.DECODER}.onnx").exists():
        graphs.as_onnx(model, as_graphs)
    packed_numbers.pack(graphs.read_numbers(as_graphs), to / "start.npz.xz")


def _kokoro(sources: Path, first: Path, second: Path) -> None:
    if not (sources / "kokoro.npz.xz").exists():
        packed_numbers.pack(
            kokoro_weights.weights_of(sources / "kokoro-int8.onnx"), sources / "kokoro.npz.xz"
        )
    shutil.copyfile(sources / "kokoro.npz.xz", second / "kokoro.npz.xz")
    styles = {
        name: read_styles(sources, name)[:_STYLE_ROWS] for name in (*KOKORO_TRAINING, *KOKORO_DEVELOPMENT)
    }
    halved = {name: style.astype(np.float16) for name, style in styles.items()}
    np.savez_compressed(first / "kokoro_voices.npz", **halved)  # type: ignore[arg-type]
    vocabulary = json.dumps(read_vocabulary(sources))
    (first / "kokoro_vocabulary.json").write_text(vocabulary, "utf-8")


def _libraries(to: Path) -> None:
    to.mkdir(parents=True, exist_ok=True)
    for name in _NAMES:
        shutil.copyfile(LIBRARIES / name, to / name)
    source = to / "no_sound_card.c"
    source.write_text(_NO_SOUND_CARD, "utf-8")
    stand_in = "libpcaudio.so.0"
    subprocess.run(
        ["cc", "-shared", "-fPIC", f"-Wl,-soname,{stand_in}", "-o", str(to / stand_in), str(source)],
        check=True,
    )
    source.unlink()
    data = LIBRARIES / "espeak-ng-data"
    for pattern in _ESPEAK_DATA:
        for path in data.glob(pattern):
            target = to / data.name / path.relative_to(data)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, target)


def _fresh_copy(folder: Path, to: Path) -> None:
    shutil.rmtree(to, ignore_errors=True)
    shutil.copytree(folder, to, ignore=shutil.ignore_patterns("__pycache__", "cli.py"))


if __name__ == "__main__":
    main(sys.argv[1:])
