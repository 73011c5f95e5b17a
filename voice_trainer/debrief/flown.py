"""What a flown session looked like from above and from the side: the facts that its two plots are drawn from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voice_trainer.debrief.document import CallResult, Document
from voice_trainer.drills.model import Drill, Station
from voice_trainer.journal.events import (
    AnyDecision,
    AnyFact,
    Commanded,
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
class Limit:
    """The altitude that the drill wants, from a moment of the session to another."""

    start_seconds: float
    end_seconds: float
    altitude_feet: float


@dataclass(frozen=True, slots=True)
class FlownPath:
    """A flight as it was. `stretches` are broken where the flight jumped ahead or went back."""

    station: Station
    stretches: tuple[tuple[Position, ...], ...]
    courses_degrees: tuple[float, ...]
    limits: tuple[Limit, ...]
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
    if drill.station is None or not whole:
        return None
    courses = dict.fromkeys(
        float(record.slots["course"])
        for record in records
        if isinstance(record, Commanded) and record.verb == "course" and "course" in record.slots
    )
    last = whole[-1][-1].at_seconds
    return FlownPath(
        drill.station,
        whole,
        tuple(courses),
        tuple(_limits(drill, records, last)),
        tuple(_places(document, whole)),
    )


def _limits(drill: Drill, records: Sequence[AnyFact | AnyDecision], last_seconds: float) -> list[Limit]:
    """The altitude to hold or to go to: from the beginning the first, then that of each step as it begins."""
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
    wanted.sort()
    ends = [start for start, _ in wanted[1:]] + [last_seconds]
    return [
        Limit(start, end, altitude)
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
