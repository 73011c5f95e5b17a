"""Two plots of a flown session, as SVG text for the page: the ground track from above, the altitude over time."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

import drawsvg

from voice_trainer.debrief.flown import FlownPath, Mark, Place
from voice_trainer.debrief.wording import SIGNS, clock, earned
from voice_trainer.flight.vor import Vor
from voice_trainer.journal.events import Position
from voice_trainer.pages.drawing import (
    Frame,
    drawing_of,
    label,
    line,
    mark_across,
    mark_up,
    svg_text,
    tenth,
    ticks,
)
from voice_trainer.pages.plain_text import plain

WIDTH: Final = 440.0
"""Of a plot, in its own units; the page makes it as wide as there is room."""
TALLEST: Final = 520.0
NAME_WIDTH: Final = 80.0
NAME_HEIGHT: Final = 18.0
"""The room that the name of a navaid with its frequency takes."""
MOST_POINTS: Final = 1200
"""Of a line: more can't be seen, and two hours of a position a second would be most of the page."""

Scale = Callable[[float], float]


def track_svg(path: FlownPath) -> str:
    """The ground track, north up, over the navaids and the courses; both axes to the same scale."""
    points = [(each.east_nm, each.north_nm) for each in path.positions]
    points += [(each.east_nm, each.north_nm) for each in path.navaids]
    if path.area is not None:
        around, limit = path.area.around, path.area.limit_nm
        points += [(around.east_nm - limit, around.north_nm - limit)]
        points += [(around.east_nm + limit, around.north_nm + limit)]
    west, east = _padded([x for x, _ in points], 0.6)
    south, north = _padded([y for _, y in points], 0.6)
    tallest = Frame(WIDTH, TALLEST)
    room = tallest.inner_width
    unit = min(room / (east - west), tallest.inner_height / (north - south))
    spare = (room / unit - (east - west)) / 2.0
    west, east = west - spare, east + spare
    frame = Frame(WIDTH, (north - south) * unit + tallest.top + tallest.bottom)

    def x(miles: float) -> float:
        return frame.left + (miles - west) * unit

    def y(miles: float) -> float:
        return frame.top + (north - miles) * unit

    first = path.navaids[0]
    farthest = max(math.hypot(p.east_nm - first.east_nm, p.north_nm - first.north_nm) for p in path.positions)
    described = (
        f"The ground track, north up, over {', '.join(f'{each.name} ({each.ident})' for each in path.navaids)}. "
        f"The farthest point is {farthest:.1f} miles from {first.ident}. {_counted(path.places)}"
    )
    drawing = drawing_of(frame, "track", "Ground track", described)
    mark_across(drawing, frame, [(x(v), f"{v:g}") for v in ticks(west, east, 6)], "nautical miles east")
    mark_up(drawing, frame, [(y(v), f"{v:g}") for v in ticks(south, north, 8)], "miles north")
    clip = drawsvg.ClipPath(id="track-frame")
    clip.append(drawsvg.Rectangle(frame.left, frame.top, frame.inner_width, tenth(frame.inner_height)))
    inside = drawsvg.Group(clip_path=clip)
    reach = math.hypot(east - west, north - south)
    for course in path.courses:
        through = Vor(course.through.ident, course.through.east_nm, course.through.north_nm)
        (x1, y1), (x2, y2) = (
            through.place(course.degrees + 180.0, reach),
            through.place(course.degrees, reach),
        )
        inside.append(
            drawsvg.Line(tenth(x(x1)), tenth(y(y1)), tenth(x(x2)), tenth(y(y2)), class_="plot-course")
        )
    if path.area is not None:
        around = path.area.around
        radius = tenth(path.area.limit_nm * unit)
        inside.append(
            drawsvg.Circle(tenth(x(around.east_nm)), tenth(y(around.north_nm)), radius, class_="plot-area")
        )
    for stretch in path.stretches:
        inside.append(line([(x(p.east_nm), y(p.north_nm)) for p in _thinned(stretch)], "plot-path"))
    drawing.append(inside)
    for course in path.courses:
        through = Vor(course.through.ident, course.through.east_nm, course.through.north_nm)
        east_nm, north_nm = through.place(course.degrees, farthest * 0.62)
        if west < east_nm < east and south < north_nm < north:
            drawing.append(label(f"{course.degrees:03.0f}", x(east_nm) + 5, y(north_nm) - 3, "plot-note"))
    _stations(drawing, [(tenth(x(n.east_nm)), tenth(y(n.north_nm)), n) for n in path.navaids])
    begin = path.positions[0]
    drawing.append(label("begins", x(begin.east_nm) + 6, y(begin.north_nm) + 12, "plot-note"))
    _places(drawing, [(x(each.at.east_nm), y(each.at.north_nm), each) for each in path.places])
    return svg_text(drawing)


def profile_svg(path: FlownPath) -> str:
    """The altitude over the time of the session, with the altitude that the drill wants at each moment."""
    positions = path.positions
    frame = Frame(WIDTH, 260.0)
    start, end = positions[0].at_seconds, max(positions[-1].at_seconds, positions[0].at_seconds + 1.0)
    altitudes = [each.altitude_feet for each in positions] + [each.altitude_feet for each in path.limits]
    low, high = _padded(altitudes, 250.0)
    low = max(low, 0.0)

    def x(seconds: float) -> float:
        return frame.left + (seconds - start) / (end - start) * frame.inner_width

    def y(feet: float) -> float:
        return frame.top + (high - feet) / (high - low) * frame.inner_height

    lowest = min(positions, key=lambda each: each.altitude_feet)
    limits = ", then ".join(f"{each.kind} {each.altitude_feet:,.0f}" for each in path.limits)
    described = (
        f"Altitude over time. Limits in feet: {limits or 'none'}. The lowest point is "
        f"{lowest.altitude_feet:,.0f} feet at {clock(lowest.at_seconds)}. {_counted(path.places)}"
    )
    drawing = drawing_of(frame, "profile", "Vertical profile", described)
    marks = [(x(v * 60.0), f"{v:g}") for v in ticks(start / 60.0, end / 60.0)]
    mark_across(drawing, frame, marks, "minutes of the session")
    mark_up(drawing, frame, [(y(v), f"{v:,.0f}") for v in ticks(low, high)], "feet")
    labels: list[tuple[float, float]] = []
    for limit in path.limits:
        left, right = x(max(limit.start_seconds, start)), x(min(limit.end_seconds, end))
        drawing.append(
            drawsvg.Line(
                left,
                y(limit.altitude_feet),
                right,
                y(limit.altitude_feet),
                class_=f"plot-limit {limit.kind.partition(' ')[0]}",
            )
        )
        if right - left > 40:
            signs = {"lowest": "≥ ", "highest": "≤ ", "called for": ""}
            text = f"{signs[limit.kind]}{limit.altitude_feet:,.0f}"
            drawing.append(label(text, right - 3, y(limit.altitude_feet) + 13, "plot-note", "end"))
            labels.append((right - 40, y(limit.altitude_feet) + 13))
    for stretch in path.stretches:
        flown = [(x(p.at_seconds), y(p.altitude_feet)) for p in _thinned(stretch)]
        drawing.append(line(flown, "plot-path"))
    _places(
        drawing, [(x(each.at.at_seconds), y(each.at.altitude_feet), each) for each in path.places], labels
    )
    return svg_text(drawing)


def _stations(drawing: drawsvg.Drawing, stations: Sequence[tuple[float, float, Mark]]) -> None:
    """The navaids with their names; of two that stand side by side, as those of one field, one has its name above."""
    named: list[tuple[float, float]] = []
    for left, top, navaid in stations:
        ring = drawsvg.Group(class_="plot-station")
        ring.append(drawsvg.Circle(left, top, 6))
        ring.append(drawsvg.Circle(left, top, 1.6, class_="plot-dot"))
        drawing.append(ring)
        crowded = any(abs(left - x) < NAME_WIDTH and abs(top - y) < NAME_HEIGHT for x, y in named)
        named.append((left, top))
        name = f"{navaid.ident} {navaid.frequency}".strip()
        drawing.append(label(name, left - 10, top - 10 if crowded else top + 16, "plot-name", "end"))


def _places(
    drawing: drawsvg.Drawing,
    places: Sequence[tuple[float, float, Place]],
    labels: Sequence[tuple[float, float]] = (),
) -> None:
    """A mark where each call was begun: small where it was right, else with its sign and its number in the list.

    `labels` are places of text that is there already.
    """
    rights = [each for each in places if earned(each[2].call.held) == "whole"]
    others = [each for each in places if earned(each[2].call.held) != "whole"]
    taken = list(labels)
    for x, y, place in (*rights, *others):
        call, worth = place.call, earned(place.call.held)
        mark = drawsvg.Group(class_=f"plot-call {worth}")
        mark.append(
            drawsvg.Title(plain(f"{call.number}. {call.step}, {call.call}: {call.held or 'not reached'}"))
        )
        if worth == "whole":
            mark.append(drawsvg.Circle(tenth(x), tenth(y), 3.2))
        else:
            right = x < WIDTH - 60
            label_y = _free(x, y, taken)
            mark.append(
                drawsvg.Line(tenth(x), tenth(y), tenth(x + (13 if right else -13)), tenth(label_y - 4))
            )
            mark.append(drawsvg.Rectangle(tenth(x - 4.5), tenth(y - 4.5), 9, 9))
            text = f"{SIGNS[worth]} {call.number}"
            mark.append(label(text, x + (15 if right else -15), label_y, "", "start" if right else "end"))
        drawing.append(mark)


def _free(x: float, y: float, taken: list[tuple[float, float]]) -> float:
    """A height for a label near a place, where no other label is."""
    for shift in (-6.0, 18.0, -20.0, 32.0, -34.0, 46.0, -48.0):
        if all(abs(x - other_x) > 40 or abs(y + shift - other_y) > 12 for other_x, other_y in taken):
            taken.append((x, y + shift))
            return max(y + shift, 12.0)
    return y


def _counted(places: Sequence[Place]) -> str:
    wrong = [each.call for each in places if earned(each.call.held) != "whole"]
    told = "; ".join(f"{each.number}. {each.call}: {each.held}" for each in wrong[:12])
    return f"{len(places)} calls are marked where they were begun{f', not right: {told}' if told else ''}."


def _thinned(points: Sequence[Position]) -> Sequence[Position]:
    """Every so many-th of a long line, and its end."""
    step = max(1, math.ceil(len(points) / MOST_POINTS))
    return points if step == 1 else [*points[:-1:step], points[-1]]


def _padded(values: Sequence[float], by: float) -> tuple[float, float]:
    return min(values) - by, max(values) + by
