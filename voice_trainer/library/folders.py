"""Where the files of the library lie: to know that, nothing else of it has to be loaded."""

from __future__ import annotations

from pathlib import Path

CONTENT = Path(__file__).parent / "content"
"""One YAML file a drill, named after the drill."""

PROCEDURES = Path(__file__).parent / "procedures"
"""One YAML file an approach or a hold, named after it."""
