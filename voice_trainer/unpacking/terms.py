"""How much a source may hold, and what a message calls it: each kind of thing that is installed has its own terms."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Terms:
    """`thing` is what is installed ('model'), `advice` what to do about a source that is not to be trusted.

    An archive may become `most_times_packed` of its own size, what is below `free_of_ratio_bytes` in any case, and
    never more than `most_bytes`; an archive larger than `most_packed_bytes` is not opened. `most_depth` counts the
    names of a place: 2 for 'a/b'.
    """

    thing: str
    advice: str
    most_files: int
    most_depth: int
    most_bytes: int
    most_packed_bytes: int
    most_times_packed: int
    free_of_ratio_bytes: int

    def most_bytes_from(self, packed_bytes: int | None) -> int:
        """How large what comes of a source may become; `packed_bytes` is None for a folder."""
        if packed_bytes is None:
            return self.most_bytes
        return min(self.most_bytes, max(self.free_of_ratio_bytes, self.most_times_packed * packed_bytes))
