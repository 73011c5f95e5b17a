"""How exactly an approach or a hold is to be flown, as published sets, and when an approach is stable.

A value of None: that set says nothing of it. The current Airman Certification Standards were not at hand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from voice_trainer.flight.courses import signed_difference

ToleranceSetName = Literal["PTS holding", "Navy instrument", "house"]
Weather = Literal["instrument", "visual"]
SpeedWindow = Literal["reference to plus 20", "plus 10 minus 5"]


@dataclass(frozen=True, slots=True)
class Tolerances:
    """One set. `final_course_degrees` is of a VOR or TACAN; minimums are above (`plus`) and below (`minus`)."""

    source: str
    airspeed_knots: float | None = None
    altitude_feet: float | None = None
    heading_degrees: float | None = None
    final_course_degrees: float | None = None
    needle_part: float | None = None
    minimums_plus_feet: float | None = None
    minimums_minus_feet: float | None = None

    def is_airspeed_kept(self, flown_knots: float, wanted_knots: float) -> bool:
        """Whether a speed is within the set; yes where the set has none."""
        return self.airspeed_knots is None or abs(flown_knots - wanted_knots) <= self.airspeed_knots

    def is_altitude_kept(self, flown_feet: float, wanted_feet: float) -> bool:
        """Whether an altitude is within the set; yes where the set has none."""
        return self.altitude_feet is None or abs(flown_feet - wanted_feet) <= self.altitude_feet

    def is_heading_kept(self, flown_degrees: float, wanted_degrees: float) -> bool:
        """Whether a heading is within the set, the short way round; yes where the set has none."""
        off = abs(signed_difference(wanted_degrees, flown_degrees))
        return self.heading_degrees is None or off <= self.heading_degrees

    def is_final_course_kept(self, off_degrees: float) -> bool:
        """Whether the final course is within the set; yes where the set has none."""
        return self.final_course_degrees is None or abs(off_degrees) <= self.final_course_degrees

    def is_needle_kept(self, deflection: float) -> bool:
        """Whether a deflection, a part of full scale, is within the set; yes where the set has none."""
        return self.needle_part is None or abs(deflection) <= self.needle_part

    def are_minimums_kept(self, flown_feet: float, minimums_feet: float) -> bool:
        """Whether an altitude held at minimums is within the set; yes where the set has none."""
        off = flown_feet - minimums_feet
        high = self.minimums_plus_feet is not None and off > self.minimums_plus_feet
        low = self.minimums_minus_feet is not None and off < -self.minimums_minus_feet
        return not (high or low)


TOLERANCES: Mapping[ToleranceSetName, Tolerances] = MappingProxyType(
    {
        "PTS holding": Tolerances(
            "FAA-S-8081-4D, holding; read as an excerpt",
            airspeed_knots=10.0,
            altitude_feet=100.0,
            heading_degrees=10.0,
            needle_part=0.75,
        ),
        "Navy instrument": Tolerances(
            "CNATRAINST 1542.140C",
            heading_degrees=5.0,
            final_course_degrees=3.0,
            minimums_plus_feet=100.0,
            minimums_minus_feet=0.0,
        ),
        "house": Tolerances(
            "our own: the wider of the published values, and nothing below minimums",
            airspeed_knots=10.0,
            altitude_feet=100.0,
            heading_degrees=10.0,
            final_course_degrees=3.0,
            needle_part=0.75,
            minimums_plus_feet=100.0,
            minimums_minus_feet=0.0,
        ),
    }
)

STABLE_BY_FEET: Mapping[Weather, float] = MappingProxyType({"instrument": 1000.0, "visual": 500.0})
"""Height above the airport from which an approach is stable, or is left: Flight Safety Foundation's elements,
as reprinted."""

GREATEST_SINK_FPM = 1000.0
"""The same elements; the FAA's Instrument Procedures Handbook says so for below 1,000 feet, as reprinted."""

GREATEST_DOTS = 1.0
"""Of localizer and glidepath: the same elements."""

STEEPEST_LOW_BANK_DEGREES = 15.0
LOW_BANK_BELOW_FEET = 500.0
"""Bank below 15 degrees under 500 feet: Instrument Procedures Handbook, as reprinted."""

SPEED_WINDOWS_KNOTS: Mapping[SpeedWindow, tuple[float, float]] = MappingProxyType(
    {"reference to plus 20": (0.0, 20.0), "plus 10 minus 5": (-5.0, 10.0)}
)
"""Around the reference or target speed: Flight Safety Foundation (its lower limit from memory); another text
derived from the FAA's. They differ, so that it is a setting."""


@dataclass(frozen=True, slots=True)
class Approach:
    """How an approach stands at one moment. `dots_off` is the greater of localizer and glidepath."""

    height_above_airport_feet: float
    sink_fpm: float
    airspeed_knots: float
    bank_degrees: float = 0.0
    dots_off: float = 0.0
    configured: bool = True
    checklists_done: bool = True


def unstable_reasons(
    approach: Approach,
    reference_knots: float,
    weather: Weather = "instrument",
    window: SpeedWindow = "reference to plus 20",
) -> tuple[str, ...]:
    """Why an approach must be left, from the height on at which it has to be stable; nothing above it.

    Each reason is one of 'sink', 'speed', 'bank', 'off course', 'configuration', 'checklists'.
    """
    if approach.height_above_airport_feet > STABLE_BY_FEET[weather]:
        return ()
    slow, fast = SPEED_WINDOWS_KNOTS[window]
    low = approach.height_above_airport_feet < LOW_BANK_BELOW_FEET
    found = {
        "sink": approach.sink_fpm > GREATEST_SINK_FPM,
        "speed": not slow <= approach.airspeed_knots - reference_knots <= fast,
        "bank": low and abs(approach.bank_degrees) >= STEEPEST_LOW_BANK_DEGREES,
        "off course": abs(approach.dots_off) > GREATEST_DOTS,
        "configuration": not approach.configured,
        "checklists": not approach.checklists_done,
    }
    return tuple(reason for reason, holds in found.items() if holds)


@dataclass(frozen=True, slots=True)
class Callout:
    """What is called, and how many feet before which altitude."""

    before: Literal["assigned altitude", "final approach fix or step-down", "minimums"]
    feet: float
    words: str | None = None
    below_feet_above_ground: float | None = None


ALTITUDE_CALLOUTS: Mapping[str, tuple[Callout, ...]] = MappingProxyType(
    {
        "AFI 11-2C-130v3 (2012), read as an excerpt": (
            Callout("assigned altitude", 1000.0, "(altitude passing) for (altitude assigned)"),
            Callout("final approach fix or step-down", 100.0, "100 above"),
            Callout("minimums", 100.0, "approaching minimums"),
            Callout("minimums", 0.0, "minimums"),
        ),
        "CNATRA P-862": (
            Callout("assigned altitude", 1000.0),
            Callout("assigned altitude", 200.0, below_feet_above_ground=1000.0),
            Callout("minimums", 0.0),
        ),
    }
)
"""By publication. AC 120-71B has tables of its own, which were not at hand."""
