"""All slot types by name."""

from __future__ import annotations

from functools import cache

from rapidfuzz import process
from rapidfuzz.distance import DamerauLevenshtein

from voice_trainer.phraseology import (
    airways,
    callsigns,
    clock_times,
    codes,
    directions,
    durations,
    fixes,
    flaps,
    frequencies,
    heights,
    opposites,
    pitch,
    power,
    pressures,
    quantities,
    rates,
    winds,
)
from voice_trainer.phraseology.slots import SlotType, UnknownSlotTypeError

TYPES: dict[str, SlotType] = {
    each.name: each
    for each in (
        *directions.TYPES,
        *heights.TYPES,
        *rates.TYPES,
        *frequencies.TYPES,
        *pressures.TYPES,
        *codes.TYPES,
        *durations.TYPES,
        *clock_times.TYPES,
        *winds.TYPES,
        *quantities.TYPES,
        *power.TYPES,
        *pitch.TYPES,
        *flaps.TYPES,
        *airways.TYPES,
        *fixes.TYPES,
        *callsigns.TYPES,
    )
}

_BY_UNIT = {each.name: each for each in power.BY_UNIT}


def nearest(name: str, names: tuple[str, ...]) -> str:
    """The nearest of `names`, as the end of an error line; '' where there are none."""
    scored = process.extract(name, names, scorer=DamerauLevenshtein.normalized_similarity, limit=3)
    close = [each for each, score, _ in scored if score >= 0.5]
    return " or ".join(close)


@cache
def find(name: str) -> SlotType:
    """The type of that name; raises UnknownSlotTypeError with the nearest names."""
    found = TYPES.get(name) or opposites.TYPES.get(name) or _BY_UNIT.get(name)
    if found is not None:
        return found
    if name.startswith(callsigns.PREFIX) and callsigns.is_refined(name):
        return callsigns.refined(name)
    if name.startswith(fixes.PREFIX) and fixes.is_refined(name):
        return fixes.refined(name)
    close = nearest(name, tuple(TYPES))
    hint = f"did you mean {close}?" if close else f"there are {', '.join(TYPES)}"
    raise UnknownSlotTypeError(f"there is no slot type {name!r}: {hint}")
