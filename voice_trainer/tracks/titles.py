"""Names of chapters: somebody's drill title, made safe for whatever shows it."""

from __future__ import annotations

LONGEST_TITLE = 60
MOST_TITLE_BYTES = 180
"""With a step's name it stays below 255 bytes, which is all that a chapter of an M4A file has room for."""

_LOOKALIKES = str.maketrans({"<": "‹", ">": "›", "/": "-", "\\": "-"})
"""Players show chapters as markup, or make file names of them."""


def chapter_title(title: str, step: str) -> str:
    """'TITLE: STEP' on one line, without markup, path separators, or anything that can't be seen.

    What changes the direction of writing can't be seen. A long title is cut, the step never.
    """
    seen = "".join(c if c.isprintable() else " " for c in title).translate(_LOOKALIKES)
    return f"{_cut(' '.join(seen.split())) or 'untitled'}: {step}"


def _cut(line: str) -> str:
    cut = line if len(line) <= LONGEST_TITLE else f"{line[: LONGEST_TITLE - 1]}…"
    while len(cut.encode()) > MOST_TITLE_BYTES:
        cut = f"{cut[:-2]}…"
    return cut
