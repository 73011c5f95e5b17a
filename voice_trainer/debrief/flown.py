"""What a flown session looked like from above and from the side: the facts that its two plots are drawn from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from voice_trainer.debrief.document import CallResult, Document
from voice_trainer.drills.conditions import is_met
from voice_trainer.drills.model import Drill, Segment
from voice_trainer.journal.events import (
    AnyDecision,
    AnyFact,
    Commanded,
    Flown,
    Jumped,
    Position,
    StepBegan,
    WentBack,
)


@dataclass(frozen=True, slots=True)
class Place:
    """Where the aeroplane was when a call was begun, and what became of it."""

    call: CallResult
    at: Position


@dataclass(frozen=True, slots=True)
class Mark:
    """A navaid or waypoint, in nautical miles east and north of the drill's origin; `frequency` '' for a waypoint."""

    ident: str
    name: str
    frequency: str
    east_nm: float
    north_nm: float


@dataclass(frozen=True, slots=True)
class Course:
    """A course through a navaid, magnetic."""

    through: Mark
    degrees: float


@dataclass(frozen=True, slots=True)
class Limit:
    """An altitude from a moment of the session to another: the lowest or highest allowed, or the one called for."""

    start_seconds: float
    end_seconds: float
    altitude_feet: float
    kind: Literal["lowest", "highest", "called for"]


@dataclass(frozen=True, slots=True)
class Circle:
    """How far from a navaid the flight may go."""

    around: Mark
    limit_nm: float


@dataclass(frozen=True, slots=True)
class FlownPath:
    """A flight as it was. `stretches` are broken where the flight jumped ahead or went back."""

    navaids: tuple[Mark, ...]
    stretches: tuple[tuple[Position, ...], ...]
    courses: tuple[Course, ...]
    limits: tuple[Limit, ...]
    area: Circle | None
    places: tuple[Place, ...]

    @property
    def positions(self) -> tuple[Position, ...]:
        """All of them, in order."""
        return tuple(each for stretch in self.stretches for each in stretch)


def flown_path(
    drill: Drill, document: Document, records: Sequence[AnyFact | AnyDecision]
) -> FlownPath | None:
    """The flight of a session, None where nothing was flown."""
    stretches: list[list[Position]] = [[]]
    for record in records:
        match record:
            case Position():
                stretches[-1].append(record)
            case Jumped() | WentBack() if stretches[-1]:
                stretches.append([])
            case _:
                pass
    whole = tuple(tuple(each) for each in stretches if len(each) > 1)
    marks = _marks(drill)
    if not marks or not whole:
        return None
    by_ident = {each.ident: each for each in marks}
    last = whole[-1][-1].at_seconds
    area = None if drill.area is None else Circle(by_ident[drill.area.navaid], drill.area.limit_nm)
    return FlownPath(
        marks,
        whole,
        tuple(_courses(drill, by_ident, records)),
        tuple(_segment_limits(drill, records, last) or _called_limits(drill, records, last)),
        area,
        tuple(_places(document, whole)),
    )


def _marks(drill: Drill) -> tuple[Mark, ...]:
    """The station, which is the origin, and the other navaids."""
    station = drill.station
    first = [] if station is None else [Mark(station.ident, station.name, station.frequency, 0.0, 0.0)]
    others = [
        Mark(each.ident, each.name, each.frequency or "", each.east_nm, each.north_nm)
        for each in drill.navaids
    ]
    return (*first, *others)


def _courses(
    drill: Drill, marks: Mapping[str, Mark], records: Iterable[AnyFact | AnyDecision]
) -> Iterable[Course]:
    """Those of the segments; where they have none, the ones that were set, through the station."""
    wanted = {
        Course(marks[each.navaid], each.course_degrees): None
        for each in drill.segments
        if each.navaid is not None and each.course_degrees is not None
    }
    if not wanted and drill.station is not None:
        station = marks[drill.station.ident]
        wanted = {
            Course(station, float(record.slots["course"])): None
            for record in records
            if isinstance(record, Commanded) and record.verb == "course" and "course" in record.slots
        }
    return wanted


def _segment_limits(
    drill: Drill, records: Iterable[AnyFact | AnyDecision], last_seconds: float
) -> list[Limit]:
    """The limits of the segments that were begun, each from its event to the next one's."""
    begun: list[tuple[Segment, float]] = []
    events = [record for record in records if isinstance(record, Flown)]
    after = 0.0
    for segment in drill.segments:
        if segment.begins != "start":
            met = (e.at_seconds for e in events if e.at_seconds >= after and is_met(segment.begins, e.name))
            moment = next(met, None)
            if moment is None:
                break
            after = moment
        begun.append((segment, after))
    ends = [*(start for _, start in begun), last_seconds][1:]
    return [
        Limit(start, end, altitude, kind)
        for (segment, start), end in zip(begun, ends, strict=True)
        for altitude, kind in _altitudes(segment)
        if end > start
    ]


def _altitudes(segment: Segment) -> list[tuple[float, Literal["lowest", "highest"]]]:
    found: list[tuple[float, Literal["lowest", "highest"]]] = []
    if segment.lowest_altitude_feet is not None:
        found.append((segment.lowest_altitude_feet, "lowest"))
    if segment.highest_altitude_feet is not None:
        found.append((segment.highest_altitude_feet, "highest"))
    return found


def _called_limits(
    drill: Drill, records: Sequence[AnyFact | AnyDecision], last_seconds: float
) -> list[Limit]:
    """Without segments: at the beginning the altitude there, then what the steps' calls ask for, as they begin."""
    began = {r.step: r.at_seconds for r in records if isinstance(r, StepBegan)}
    wanted: list[tuple[float, float]] = []
    if drill.aeroplane is not None:
        wanted.append((0.0, drill.aeroplane.altitude_feet))
    for step in drill.steps:
        for call in step.flow.calls if step.flow else ():
            if call.does == "altitude" and step.step in began:
                altitude = drill.pattern(call).expected.get("altitude", "")
                if altitude.isdecimal():
                    wanted.append((began[step.step], float(altitude)))
    wanted.sort(key=lambda each: each[0])  # of two at one moment the later one holds
    ends = [*(start for start, _ in wanted), last_seconds][1:]
    return [
        Limit(start, end, altitude, "called for")
        for (start, altitude), end in zip(wanted, ends, strict=True)
        if end > start
    ]


def _places(document: Document, stretches: Sequence[Sequence[Position]]) -> list[Place]:
    positions = [each for stretch in stretches for each in stretch]
    return [
        Place(call, _nearest(positions, call.onset_seconds))
        for call in document.calls
        if call.onset_seconds is not None
    ]


def _nearest(positions: Sequence[Position], at_seconds: float) -> Position:
    return min(positions, key=lambda each: abs(each.at_seconds - at_seconds))
