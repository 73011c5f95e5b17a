"""Folders that only their owner may look into."""

from __future__ import annotations

from pathlib import Path


def private_folder(path: Path) -> Path:
    """`path` itself, made if need be with everything above it that is missing, for its owner only (0700).

    What is there already is left as it is. Raises OSError.
    """
    if not path.exists():
        private_folder(path.parent)
        path.mkdir(mode=0o700, exist_ok=True)
    return path
