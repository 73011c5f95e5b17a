"""The plan view and the profile of a rehearsed procedure, as plain shapes that any page can draw.

Shapes lie in a frame of `width` by `height`, their origin at the top left. What they mean is in a style's name and
never in colour alone: the flown line is whole, limits are dashed, and every mark has its number beside it, or beside
a mark too near it to have two.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from voice_trainer.drills.conditions import is_met
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import Flown, Position, StepBegan
from voice_trainer.session.rehearsal import Records

Style = Literal["flown", "limit", "grid"]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Path:
    """A line through points."""

    points: tuple[tuple[float, float], ...]
    style: Style


@dataclass(frozen=True, slots=True)
class Dot:
    """A place, and what stands beside it."""

    x: float
    y: float
    label: str
    is_navaid: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """Text at a place."""

    x: float
    y: float
    text: str
    anchor: Anchor = "middle"


Shape = Path | Dot | Label


@dataclass(frozen=True, slots=True)
class View:
    """A drawing: its size, its shapes, and what it shows, in words."""

    title: str
    described: str
    width: float
    height: float
    shapes: tuple[Shape, ...]


MARGIN = 26.0
LETTER_WIDTH, LETTER_HEIGHT = 6.0, 9.0


def plan_view(drill: Drill, records: Records, width: float = 340.0, tallest: float = 400.0) -> View:
    """The ground track from above, north up, both axes to one scale; numbers stand where the card's steps begin."""
    positions = [record for record in records if isinstance(record, Position)]
    places = [(each.east_nm, each.north_nm) for each in positions]
    places += [(navaid.east_nm, navaid.north_nm) for navaid in drill.navaids]
    west, east = min(x for x, _ in places) - 0.5, max(x for x, _ in places) + 0.5
    south, north = min(y for _, y in places) - 0.5, max(y for _, y in places) + 0.5
    unit = min((width - 2 * MARGIN) / (east - west), (tallest - 2 * MARGIN) / (north - south))
    height = (north - south) * unit + 2 * MARGIN
    left = (width - (east - west) * unit) / 2

    def at(x: float, y: float) -> tuple[float, float]:
        return left + (x - west) * unit, MARGIN + (north - y) * unit

    shapes: list[Shape] = [Path(tuple(at(each.east_nm, each.north_nm) for each in positions), "flown")]
    if drill.area is not None:
        navaid = next(each for each in drill.navaids if each.ident == drill.area.navaid)
        angles = [math.radians(degrees) for degrees in range(0, 361, 3)]
        limit = drill.area.limit_nm
        circle = [
            (navaid.east_nm + limit * math.sin(a), navaid.north_nm + limit * math.cos(a)) for a in angles
        ]
        inside = [[at(x, y) for x, y in part] for part in _inside(circle, west, east, south, north)]
        shapes += [Path(tuple(part), "limit") for part in inside if len(part) > 1]
    marks = [Dot(*at(n.east_nm, n.north_nm), n.ident, is_navaid=True) for n in drill.navaids]
    for number, _, position in _begun(drill, records):
        marks.append(Dot(*at(position.east_nm, position.north_nm), str(number)))
    shapes += _labelled_once(marks)
    scale = 5.0 if (east - west) > 8 else 2.0
    shapes.append(Path(((MARGIN, height - 10), (MARGIN + scale * unit, height - 10)), "grid"))
    shapes.append(Label(MARGIN + scale * unit / 2, height - 14, f"{scale:g} NM"))
    shapes.append(Label(width - MARGIN, 16, "north up", "end"))
    farthest = max(math.hypot(x - places[-1][0], y - places[-1][1]) for x, y in places)
    described = f"The ground track, north up, as rehearsed; it reaches {farthest:.1f} miles."
    return View("Plan view", described, width, height, tuple(shapes))


def profile_view(drill: Drill, records: Records, width: float = 340.0, height: float = 170.0) -> View:
    """Altitude over the distance flown, with the lowest altitude of each segment as a dashed line."""
    positions = [record for record in records if isinstance(record, Position)]
    along = _flown_miles(positions)
    high = max(each.altitude_feet for each in positions) + 300.0
    lows = [
        segment.lowest_altitude_feet for segment in drill.segments if segment.lowest_altitude_feet is not None
    ]
    low = max(0.0, min([*lows, *(each.altitude_feet for each in positions)]) - 400.0)
    far = along[-1] or 1.0

    def at(miles: float, feet: float) -> tuple[float, float]:
        return (
            MARGIN + 14 + miles / far * (width - 2 * MARGIN - 14),
            MARGIN / 2 + (high - feet) / (high - low) * (height - 1.5 * MARGIN),
        )

    shapes: list[Shape] = []
    for feet in range(math.ceil(low / 1000.0) * 1000, int(high) + 1, 1000):
        shapes.append(Path((at(0, feet), at(far, feet)), "grid"))
        shapes.append(Label(at(0, feet)[0] - 4, at(0, feet)[1] + 3, f"{feet:,}", "end"))
    for begins, ends, floor in _floors(drill, records, positions, along):
        shapes.append(Path((at(begins, floor), at(ends, floor)), "limit"))
    shapes.append(
        Path(
            tuple(at(miles, each.altitude_feet) for miles, each in zip(along, positions, strict=True)),
            "flown",
        )
    )
    marks = [
        Dot(*at(along[index], position.altitude_feet), str(number))
        for number, index, position in _begun(drill, records)
    ]
    shapes += _labelled_once(marks)
    shapes.append(Label(width / 2, height - 4, "distance flown; feet above sea level"))
    described = (
        f"The altitude over {far:.0f} miles flown, from {positions[0].altitude_feet:,.0f} feet down to "
        f"{min(each.altitude_feet for each in positions):,.0f}; dashed: the lowest altitude of each segment."
    )
    return View("Profile", described, width, height, tuple(shapes))


def _begun(drill: Drill, records: Records) -> list[tuple[int, int, Position]]:
    """The number of each step on the card, the index of the position at which it began, and that position."""
    positions = [record for record in records if isinstance(record, Position)]
    numbers = {step.step: number for number, step in enumerate(drill.steps, start=1)}
    found = []
    for record in records:
        if isinstance(record, StepBegan):
            index = min(range(len(positions)), key=lambda i: abs(positions[i].at_seconds - record.at_seconds))
            found.append((numbers[record.step], index, positions[index]))
    return found


def _labelled_once(marks: Sequence[Dot]) -> list[Dot]:
    """The same marks; where what is beside them would overlap, the first of them says it all."""
    groups: list[list[Dot]] = []
    for mark in marks:
        near = next((group for group in groups if _would_overlap(group, mark)), None)
        if near is None:
            groups.append([mark])
        else:
            near.append(mark)
    said = {id(group[0]): _together(group) for group in groups}
    return [replace(mark, label=said.get(id(mark), "")) for mark in marks]


def _would_overlap(group: Sequence[Dot], mark: Dot) -> bool:
    first = group[0]
    label_width = LETTER_WIDTH * len(_together([*group, mark]))
    return -LETTER_WIDTH * 2 < mark.x - first.x < label_width and abs(mark.y - first.y) < LETTER_HEIGHT


def _together(group: Sequence[Dot]) -> str:
    """'KLD, 3, 10', '16 to 19': what stands beside several marks."""
    runs: list[list[str]] = []
    for mark in group:
        if runs and runs[-1][-1].isdigit() and mark.label == str(int(runs[-1][-1]) + 1):
            runs[-1].append(mark.label)
        else:
            runs.append([mark.label])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def _flown_miles(positions: Sequence[Position]) -> list[float]:
    along = [0.0]
    for before, after in pairwise(positions):
        along.append(along[-1] + math.hypot(after.east_nm - before.east_nm, after.north_nm - before.north_nm))
    return along


def _floors(
    drill: Drill, records: Records, positions: Sequence[Position], along: Sequence[float]
) -> list[tuple[float, float, float]]:
    """From and to how many miles flown which lowest altitude holds."""
    begins: list[float] = []
    waiting = list(drill.segments)
    if waiting and waiting[0].begins == "start":
        begins.append(0.0)
        waiting = waiting[1:]
    for record in records:
        if waiting and isinstance(record, Flown) and is_met(waiting[0].begins, record.name):
            index = min(range(len(positions)), key=lambda i: abs(positions[i].at_seconds - record.at_seconds))
            begins.append(along[index])
            waiting = waiting[1:]
    ends = [*begins[1:], along[-1]]
    floors = [segment.lowest_altitude_feet for segment in drill.segments]
    return [
        (begin, end, floor)
        for begin, end, floor in zip(begins, ends, floors, strict=False)
        if floor is not None
    ]


def _inside(
    points: Sequence[tuple[float, float]], west: float, east: float, south: float, north: float
) -> list[list[tuple[float, float]]]:
    """The parts of a line that lie within a frame."""
    parts: list[list[tuple[float, float]]] = [[]]
    for x, y in points:
        if west <= x <= east and south <= y <= north:
            parts[-1].append((x, y))
        elif parts[-1]:
            parts.append([])
    return parts
