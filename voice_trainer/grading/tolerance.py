"""Values that were worked out in the head, and may be a little off where the drill says so."""

from __future__ import annotations

from collections.abc import Mapping

from voice_trainer.drills.model import MentalType
from voice_trainer.flight.courses import signed_difference
from voice_trainer.flight.timing import duration_seconds
from voice_trainer.phraseology.pattern import Difference
from voice_trainer.phraseology.slots import slot_type

DIRECTIONS = ("heading", "course", "radial", "bearing")


def is_near_enough(difference: Difference, within: Mapping[MentalType, float]) -> bool:
    """Whether a value is off by no more than `within` allows for its type: degrees, seconds, or its own unit."""
    allowed = next((limit for name, limit in within.items() if name == difference.type), None)
    if allowed is None or difference.heard is None:
        return False
    return _distance(difference.type, difference.expected, difference.heard) <= allowed


def remark_on(difference: Difference) -> str:
    """What a student may know of a value that was near enough."""
    return f"{slot_type(difference.type).describe(difference.expected)} is exact"


def _distance(type_name: str, expected: str, heard: str) -> float:
    if type_name in DIRECTIONS:
        return abs(signed_difference(float(expected), float(heard)))
    if type_name == "duration":
        return abs(duration_seconds(expected) - duration_seconds(heard))
    return abs(float(expected) - float(heard))
