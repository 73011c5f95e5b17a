"""The flight behind the words: where it left its limits, and by how much.

The aeroplane does what was said, so a deviation is what a wrong, late or missing call came to. It is reported beside
the score of the calls, never mixed into it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from voice_trainer.drills.conditions import is_met
from voice_trainer.drills.model import Drill, Segment
from voice_trainer.drills.navaids import navaids_of
from voice_trainer.flight.courses import signed_difference
from voice_trainer.flight.limits import BELOW_FEET
from voice_trainer.flight.navaids import Navaid
from voice_trainer.flight.tolerances import TOLERANCES, Tolerances, ToleranceSetName
from voice_trainer.grading.flown_headings import FlownHeadings
from voice_trainer.journal.events import AnyDecision, AnyFact, Flown, Position
from voice_trainer.phraseology.counting import counted

Kind = Literal["too low", "too high", "too fast", "off heading", "off course", "outside the area"]

JOINED_DEGREES = 30.0
"""A course that is crossed at a larger angle has not been joined yet (ours)."""

NEAR_THE_STATION_NM = 1.0
"""Nearer than this a needle swings whatever one does, and no course is graded."""


USUAL_TOLERANCES: ToleranceSetName = "house"


@dataclass(frozen=True, slots=True)
class Deviation:
    """One stretch outside a limit: in which segment, when it began, how long, and the worst of it.

    `by` is how far beyond the limit itself, in feet, knots, degrees, parts of a needle's full scale, or miles.
    Of a heading `segment` is the step that asks for it, and `limit` the heading.
    """

    kind: Kind
    segment: str
    at_seconds: float
    seconds: float
    limit: float
    by: float
    critical: bool = False

    @property
    def said(self) -> str:
        """In one sentence."""
        lasting = _lasting(self.seconds)
        where = f"in '{self.segment}', {lasting}"
        match self.kind:
            case "too low":
                return f"{self.by:,.0f} feet below {self.limit:,.0f} {where}."
            case "too high":
                return f"{self.by:,.0f} feet above {self.limit:,.0f} {where}."
            case "too fast":
                return f"{self.by:.0f} knots faster than {self.limit:.0f} {where}."
            case "off heading":
                return f"{self.by:.0f} degrees off the heading of {self.limit:03.0f} {where}."
            case "off course":
                return (
                    f"{self.by + self.limit:.0f} degrees off the course {where}; {self.limit:g} are allowed."
                )
            case "outside the area":
                return f"{self.by:.1f} miles outside the limit of {self.limit:g}, {lasting}."


def _lasting(seconds: float) -> str:
    whole = round(seconds)
    if whole == 0:
        return "for less than a second"
    return f"for {counted(whole, 'second')}"


def deviations_of(
    drill: Drill, records: Sequence[AnyFact | AnyDecision], tolerances: ToleranceSetName = USUAL_TOLERANCES
) -> tuple[Deviation, ...]:
    """Every deviation of a flown session, in order of time; of a drill without segments and area, those of headings.

    `tolerances` names one of the published sets (`voice_trainer.flight.tolerances`). What a set says nothing of is
    not graded; below minimums no set allows anything.
    """
    watch = _Watch(drill, TOLERANCES[tolerances])
    now_seconds = 0.0
    for record in records:
        match record:
            case Flown(name=name):
                watch.happened(name)
            case Position():
                watch.at(record)
            case _:
                watch.headings.follow(record, now_seconds)
        now_seconds = max(now_seconds, record.at_seconds)
    return tuple(sorted(watch.ended(), key=lambda each: each.at_seconds))


@dataclass(slots=True)
class _Open:
    began: float
    last: float
    limit: float
    worst: float
    critical: bool


class _Watch:
    """Follows a flight along its segments, and keeps the stretches that are outside a limit."""

    def __init__(self, drill: Drill, tolerances: Tolerances) -> None:
        self._segments = drill.segments
        self._tolerances = tolerances
        self._navaids = {each.ident: each for each in navaids_of(drill)}
        self._area = drill.area
        self.headings = FlownHeadings(drill)
        self._index = -1
        self._joined = False
        self._open: dict[tuple[Kind, str], _Open] = {}
        self._done: list[Deviation] = []
        if self._segments and self._segments[0].begins == "start":
            self._index = 0

    @property
    def _segment(self) -> Segment | None:
        return self._segments[self._index] if 0 <= self._index < len(self._segments) else None

    def happened(self, name: str) -> None:
        following = self._segments[self._index + 1 :]
        if following and is_met(following[0].begins, name):
            self._index += 1
            self._joined = False

    def at(self, position: Position) -> None:
        found = {(kind, segment): rest for kind, segment, *rest in self._outside(position)}
        for key in [key for key in self._open if key not in found]:
            self._close(key)
        for key, (limit, by, critical) in found.items():
            known = self._open.get(key)
            if known is None:
                self._open[key] = _Open(position.at_seconds, position.at_seconds, limit, by, bool(critical))
            else:
                known.last = position.at_seconds
                known.worst = max(known.worst, by)

    def ended(self) -> list[Deviation]:
        for key in list(self._open):
            self._close(key)
        return self._done

    def _close(self, key: tuple[Kind, str]) -> None:
        kind, segment = key
        each = self._open.pop(key)
        seconds = round(each.last - each.began, 1)
        self._done.append(
            Deviation(kind, segment, each.began, seconds, each.limit, round(each.worst, 2), each.critical)
        )

    def _outside(self, position: Position) -> Iterator[tuple[Kind, str, float, float, bool]]:
        segment, allowed = self._segment, self._tolerances
        if segment is not None:
            low, high, fast = (
                segment.lowest_altitude_feet,
                segment.highest_altitude_feet,
                segment.fastest_knots,
            )
            if low is not None:
                below = low - position.altitude_feet
                # Below the minimums nothing is allowed; on the way there the test standard's hundred feet.
                slack = BELOW_FEET if segment.is_minimums else allowed.altitude_feet
                if slack is not None and below > slack:
                    yield "too low", segment.segment, low, below, segment.is_minimums
            if high is not None and not allowed.is_altitude_kept(max(high, position.altitude_feet), high):
                yield "too high", segment.segment, high, position.altitude_feet - high, False
            if fast is not None and not allowed.is_airspeed_kept(max(fast, position.airspeed_knots), fast):
                yield "too fast", segment.segment, fast, position.airspeed_knots - fast, False
            yield from self._off_course(segment, position)
        off = self.headings.off(position)
        if off is not None:
            step, heading, degrees = off
            if not allowed.is_heading_kept(position.heading_degrees, heading):
                yield "off heading", step, heading, degrees, False
        applies = self._area is not None and segment is not None and segment.segment in self._area.segments
        if self._area is not None and (applies or not self._area.segments):
            navaid = self._navaids[self._area.navaid]
            distance = navaid.distance_nm(position.east_nm, position.north_nm)
            if distance > self._area.limit_nm:
                beyond = distance - self._area.limit_nm
                yield "outside the area", "area", self._area.limit_nm, beyond, False

    def _off_course(
        self, segment: Segment, position: Position
    ) -> Iterator[tuple[Kind, str, float, float, bool]]:
        if segment.course_degrees is None or segment.navaid not in self._navaids:
            return
        navaid = self._navaids[segment.navaid]
        place = position.east_nm, position.north_nm
        # A waypoint's needle is linear, and a localizer stands beyond the runway: neither swings on the way to it.
        swings = not navaid.is_localizer and navaid.kind != "waypoint"
        shown = navaid.deflection(*place, segment.course_degrees)
        if shown is None or (swings and navaid.distance_nm(*place) < NEAR_THE_STATION_NM):
            return
        allowed = self._allowed_part(navaid)
        along = abs(signed_difference(position.heading_degrees, segment.course_degrees)) <= JOINED_DEGREES
        self._joined |= abs(shown) <= (allowed or 0.0) and along
        if allowed is not None and self._joined and abs(shown) > allowed:
            yield "off course", segment.segment, allowed, abs(shown) - allowed, False

    def _allowed_part(self, navaid: Navaid) -> float | None:
        """How far the needle may be off, in parts of full scale; None where the set says nothing of it."""
        if self._tolerances.needle_part is not None:
            return self._tolerances.needle_part
        degrees = self._tolerances.final_course_degrees
        is_angular = not navaid.is_localizer and navaid.kind != "waypoint"
        return degrees / navaid.full_scale_degrees if degrees is not None and is_angular else None
