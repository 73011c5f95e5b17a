"""Magnetic variation as data: one value a place, given by who writes the drill. There is no model of the world."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from voice_trainer.flight.courses import normalise_degrees

VARIATION = re.compile(r"([0-9]{1,3}(?:\.[0-9]+)?)([EW])")


@dataclass(frozen=True, slots=True)
class Variation:
    """Degrees that magnetic north lies east of true north; west is negative.

    Raises ValueError outside [-180, 180].
    """

    east_degrees: float

    def __post_init__(self) -> None:
        if not -180.0 <= self.east_degrees <= 180.0:
            raise ValueError(f"a variation is at most 180 degrees east or west, not {self.east_degrees}")

    @classmethod
    def read(cls, text: str) -> Variation:
        """From a text such as '7W' or '12.5E'. Raises ValueError for any other form."""
        found = VARIATION.fullmatch(text)
        if found is None:
            raise ValueError(f"'{text}' is not a variation such as '7W' or '12.5E'")
        degrees = float(found[1])
        return cls(degrees if found[2] == "E" else -degrees)

    @property
    def text(self) -> str:
        """As `read` reads it: '7W', '12.5E'; none is '0E'."""
        return f"{abs(self.east_degrees):.10g}{'W' if self.east_degrees < 0.0 else 'E'}"

    def magnetic(self, true_degrees: float) -> float:
        """A true direction as a magnetic one: east is least, west is best. Within (0, 360]."""
        return normalise_degrees(true_degrees - self.east_degrees)

    def true(self, magnetic_degrees: float) -> float:
        """A magnetic direction as a true one. Within (0, 360]."""
        return normalise_degrees(magnetic_degrees + self.east_degrees)


@dataclass(frozen=True, slots=True)
class VariationTable:
    """The variation of each place, by its ident."""

    by_place: Mapping[str, Variation]

    @classmethod
    def read(cls, texts: Mapping[str, str]) -> VariationTable:
        """From ident to text, such as 'KLD' to '7W'. Raises ValueError for a text that is none."""
        return cls({place: Variation.read(text) for place, text in texts.items()})

    def at(self, place: str) -> Variation:
        """The variation of a place. Raises KeyError, saying which places there are."""
        if place not in self.by_place:
            raise KeyError(
                f"no variation is given for '{place}'; there is one for {', '.join(self.by_place)}"
            )
        return self.by_place[place]
