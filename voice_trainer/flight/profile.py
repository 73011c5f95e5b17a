"""How an aeroplane handles: the few numbers that set one type apart from another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from voice_trainer.flight.procedure_turn import FASTEST_KNOTS


@dataclass(frozen=True, slots=True)
class Profile:
    """Handling of one kind of aeroplane. Raises ValueError unless every number is positive.

    The numbers of the profiles below are round values of common practice, not those of any real type.
    """

    name: str
    roll_rate_degrees_per_second: float
    climb_rate_feet_per_minute: float
    descent_rate_feet_per_minute: float
    acceleration_knots_per_second: float
    max_bank_degrees: float
    pitch_rate_feet_per_minute_per_second: float = 250.0
    """How fast the vertical speed itself changes."""
    manoeuvring_knots: float = 120.0
    """On the way to a procedure, before it slows for it."""
    procedure_turn_knots: float = 120.0
    """No more than 200: AIM 5-4-9a3."""
    final_knots: float = 100.0
    category: Literal["A", "B", "C", "D"] = "B"
    """By the speed on final: AIM 5-4-7 (A below 91 knots, B to 120, C to 140, D to 165)."""
    lowest_knots: float = 60.0
    highest_knots: float = 250.0
    retractable_gear: bool = True
    """Whether there is a gear to be called down and up."""

    def __post_init__(self) -> None:
        numbers = (
            self.roll_rate_degrees_per_second,
            self.climb_rate_feet_per_minute,
            self.descent_rate_feet_per_minute,
            self.acceleration_knots_per_second,
            self.pitch_rate_feet_per_minute_per_second,
        )
        if not all(number > 0.0 for number in numbers) or not 0.0 < self.max_bank_degrees <= 60.0:
            raise ValueError(
                f"profile '{self.name}': rates must be positive, and the bank no more than 60 degrees"
            )
        speeds = (self.final_knots, self.procedure_turn_knots, self.manoeuvring_knots)
        if not all(0.0 < self.lowest_knots <= speed <= self.highest_knots for speed in speeds):
            raise ValueError(
                f"profile '{self.name}': its speeds must lie between its lowest and its highest one"
            )
        if self.procedure_turn_knots > FASTEST_KNOTS:
            raise ValueError(f"profile '{self.name}': a procedure turn is flown at no more than 200 knots")


# 5 degrees a second of roll makes the exact roll-out lead agree with the taught one, a third of the bank.
PROFILES = {
    profile.name: profile
    for profile in (
        Profile("turboprop", 5.0, 1000.0, 1000.0, 1.0, 30.0, 250.0, 180.0, 150.0, 110.0, "B", 80.0, 250.0),
        Profile("piston", 5.0, 500.0, 500.0, 0.7, 25.0, 250.0, 120.0, 100.0, 90.0, "A", 55.0, 150.0, False),
        Profile("jet trainer", 5.0, 2000.0, 1500.0, 1.5, 30.0, 400.0, 240.0, 200.0, 130.0, "C", 100.0, 400.0),
    )
}


def profile_named(name: str) -> Profile:
    """The built-in profile of that name. Raises ValueError that names the known ones."""
    if name not in PROFILES:
        raise ValueError(f"no aeroplane profile is called '{name}'; known: {', '.join(sorted(PROFILES))}")
    return PROFILES[name]
