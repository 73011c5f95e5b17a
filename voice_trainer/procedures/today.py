"""What a chart does not say: the wind, the aeroplane, and whether there will be a runway to see."""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.flight.profile import Profile
from voice_trainer.flight.wind import CALM, Wind


@dataclass(frozen=True, slots=True)
class Today:
    """One flight of an approach: the wind (from, magnetic), the aeroplane, and what is seen at the minimums."""

    profile: Profile
    wind: Wind = CALM
    runway_in_sight: bool = False
