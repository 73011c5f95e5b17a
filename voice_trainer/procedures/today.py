"""What a chart does not say: the wind, the aeroplane, what the controller amends, and whether a runway is seen."""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.flight.profile import Profile
from voice_trainer.flight.wind import CALM, Wind

STANDARD_INCHES = 29.92
"""Of mercury, the standard atmosphere's: what the altimeter is set to where nothing else is told."""


@dataclass(frozen=True, slots=True)
class Amendment:
    """What a controller gives in place of the charted altitude until established, with the altimeter setting."""

    altitude_feet: int
    altimeter_inches: float


@dataclass(frozen=True, slots=True)
class Today:
    """One flight of an approach: the wind (from, magnetic), the aeroplane, and what is seen at the minimums.

    `altimeter_inches` is the altimeter setting at the beginning, in inches of mercury. `amendment` is what the
    controller amends on the way, None for a day on which nothing is.
    """

    profile: Profile
    wind: Wind = CALM
    runway_in_sight: bool = False
    amendment: Amendment | None = None
    altimeter_inches: float = STANDARD_INCHES
