"""The table of families of voices: for each, and each condition, what was let through and what was not."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from scripts.benchmarks.bootstrap import Counted, share
from scripts.benchmarks.lines import FOUR_CALLS

Record = dict[str, Any]

COLUMNS = (
    "right accepted", "wrong value or opposite let through", "right called wrong", "other speech and noise accepted",
    "four calls in a breath",
)  # fmt: skip
ALL = "all"


def table(families: Mapping[str, Sequence[Record]], conditions: Sequence[str], seed: int) -> str:
    """In Markdown: a row for each family and condition, and one for all of its conditions with the bare noises."""
    lines = [_row(("", "", *COLUMNS)), _row(["---"] * (len(COLUMNS) + 2))]
    for family, records in families.items():
        lines.append(_row((family, ALL, *_cells(records, seed))))
        for condition in conditions:
            here = [each for each in records if each["condition"] == condition]
            lines.append(_row((family, condition, *_cells(here, seed))))
    return "\n".join(lines)


def _cells(records: Sequence[Record], seed: int) -> list[str]:
    def counted(kinds: Sequence[str], outcome: str) -> str:
        return share(_counted(records, kinds, lambda each: int(each["outcome"] == outcome)), seed)

    fours = _counted(records, (FOUR_CALLS,), lambda each: int(each["calls_right"]), of=4)
    return [
        counted(("right",), "accepted"),
        counted(("twin",), "accepted"),
        counted(("right",), "called wrong"),
        counted(("unrelated", "non-speech"), "accepted"),
        share(fours, seed),
    ]


def _counted(
    records: Sequence[Record], kinds: Sequence[str], hits: Callable[[Record], int], of: int = 1
) -> list[Counted]:
    # Bare noise has no words: each sound is a sentence of its own.
    return [
        Counted(each["voice"], each["said"] or each["file"], hits(each), of)
        for each in records
        if each["kind"] in kinds and (of == 1 or "calls_right" in each)
    ]


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
