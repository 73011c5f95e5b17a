"""Fetches the free texts that everyday English is taken from: python -m scripts.train.texts.sources FOLDER

Debian's packages `fortunes`, `fortunes-min` and `wordnet-base` are downloaded and unpacked, not installed, and so is
the wheel `wordfreq` (Apache-2.0; its list of words CC-BY-SA-4.0). Nothing of them is kept in this repository.
"""

from __future__ import annotations

import gzip
import re
import shutil
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

DEBIAN_PACKAGES = ("fortunes", "fortunes-min", "wordnet-base")
FREQUENCIES = "wordfreq==3.1.1"
WORDS_KEPT = 100_000


class SourceError(Exception):
    """A text that could not be fetched: one line that says which."""


def fetch(folder: Path) -> None:
    """Lay `fortunes`, `wordnet` and `frequency.txt` into `folder`. Raises SourceError."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        work.chmod(0o755)
        _run(["apt-get", "download", *DEBIAN_PACKAGES], work)
        for package in sorted(work.glob("*.deb")):
            _run(["dpkg-deb", "--extract", str(package), "unpacked"], work)
        share = work / "unpacked" / "usr" / "share"
        for source, target in (("games/fortunes", "fortunes"), ("wordnet", "wordnet")):
            shutil.copytree(share / source, folder / target, dirs_exist_ok=True)
        _run([sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", FREQUENCIES], work)
        with zipfile.ZipFile(next(work.glob("wordfreq-*.whl"))) as wheel:
            packed = wheel.read("wordfreq/data/large_en.msgpack.gz")
    # The first two strings are about the file: 'format', 'version' and their like are words too, further on.
    words = [
        word for word in _strings(gzip.decompress(packed))[3:] if re.fullmatch(r"[a-z]+(?:'[a-z]+)?", word)
    ]
    (folder / "frequency.txt").write_text("\n".join(words[:WORDS_KEPT]) + "\n", encoding="utf-8")


def _run(command: list[str], folder: Path) -> None:
    try:
        subprocess.run(command, cwd=folder, check=True, capture_output=True, text=True)
    except (OSError, subprocess.CalledProcessError) as error:
        reason = (getattr(error, "stderr", "") or str(error)).strip().splitlines()[-1]
        raise SourceError(f"'{' '.join(command)}' failed: {reason}") from None


def _strings(packed: bytes) -> list[str]:
    """Every string of a MessagePack file of lists, in its order (github.com/msgpack/msgpack/blob/master/spec.md)."""
    found: list[str] = []
    at = 0
    while at < len(packed):
        mark = packed[at]
        at += 1
        if 0xA0 <= mark <= 0xBF:
            length = mark - 0xA0
        elif mark in (0xD9, 0xDA):
            size = mark - 0xD8
            length = int.from_bytes(packed[at : at + size], "big")
            at += size
        else:
            # The beginning of a list or a map, or a number: of those that there are, with how many bytes behind it.
            at += {0xDC: 2, 0xDD: 4, 0xDE: 2, 0xCC: 1, 0xCD: 2}.get(mark, 0)
            continue
        found.append(packed[at : at + length].decode("utf-8"))
        at += length
    return found


def main(arguments: list[str]) -> int:
    """Fetch into the folder that is named."""
    if len(arguments) != 1:
        print("scripts.train.texts.sources: name one folder to fetch into", file=sys.stderr)
        return 2
    try:
        fetch(Path(arguments[0]))
    except SourceError as error:
        print(f"scripts.train.texts.sources: {error}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
