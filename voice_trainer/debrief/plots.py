"""Two plots of a flown session, as SVG text for the page: the ground track from above, the altitude over time.

drawsvg writes the SVG, and escapes what is put into it. Colours are classes that the page's style sheet paints, so a
plot follows the page into the dark and onto paper; a chart library that writes its colours into every path can't. The
same session gives the same bytes: there are no dates, and no random identifiers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Final

import drawsvg

from voice_trainer.debrief.flown import FlownPath, Place
from voice_trainer.debrief.wording import SIGNS, clock, earned, plain
from voice_trainer.flight.vor import Vor
from voice_trainer.journal.events import Position

WIDTH: Final = 440.0
"""Of a plot, in its own units; the page makes it as wide as there is room."""
TALLEST: Final = 520.0
MOST_POINTS: Final = 1200
"""Of a line: more can't be seen, and two hours of a position a second would be most of the page."""
LEFT, RIGHT, TOP, BOTTOM = 46.0, 14.0, 16.0, 34.0

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
    room = WIDTH - LEFT - RIGHT
    unit = min(room / (east - west), (TALLEST - TOP - BOTTOM) / (north - south))
    spare = (room / unit - (east - west)) / 2.0
    west, east = west - spare, east + spare
    height = (north - south) * unit + TOP + BOTTOM

    def x(miles: float) -> float:
        return LEFT + (miles - west) * unit

    def y(miles: float) -> float:
        return TOP + (north - miles) * unit

    first = path.navaids[0]
    farthest = max(math.hypot(p.east_nm - first.east_nm, p.north_nm - first.north_nm) for p in path.positions)
    described = (
        f"The ground track, north up, over {', '.join(f'{each.name} ({each.ident})' for each in path.navaids)}. "
        f"The farthest point is {farthest:.1f} miles from {first.ident}. {_counted(path.places)}"
    )
    drawing = _drawing(height, "track", "Ground track", described)
    _across(drawing, height, [(x(v), f"{v:g}") for v in ticks(west, east, 6)], "nautical miles east")
    _up(drawing, [(y(v), f"{v:g}") for v in ticks(south, north, 8)], "miles north")
    clip = drawsvg.ClipPath(id="track-frame")
    clip.append(drawsvg.Rectangle(LEFT, TOP, WIDTH - LEFT - RIGHT, _r(height - TOP - BOTTOM)))
    inside = drawsvg.Group(clip_path=clip)
    reach = math.hypot(east - west, north - south)
    for course in path.courses:
        through = Vor(course.through.ident, course.through.east_nm, course.through.north_nm)
        (x1, y1), (x2, y2) = (
            through.place(course.degrees + 180.0, reach),
            through.place(course.degrees, reach),
        )
        inside.append(drawsvg.Line(_r(x(x1)), _r(y(y1)), _r(x(x2)), _r(y(y2)), class_="plot-course"))
    if path.area is not None:
        around = path.area.around
        radius = _r(path.area.limit_nm * unit)
        inside.append(
            drawsvg.Circle(_r(x(around.east_nm)), _r(y(around.north_nm)), radius, class_="plot-area")
        )
    for stretch in path.stretches:
        inside.append(_line([(x(p.east_nm), y(p.north_nm)) for p in _thinned(stretch)], "plot-path"))
    drawing.append(inside)
    for course in path.courses:
        through = Vor(course.through.ident, course.through.east_nm, course.through.north_nm)
        east_nm, north_nm = through.place(course.degrees, farthest * 0.62)
        if west < east_nm < east and south < north_nm < north:
            drawing.append(_label(f"{course.degrees:03.0f}", x(east_nm) + 5, y(north_nm) - 3, "plot-note"))
    for mark in path.navaids:
        left, top = _r(x(mark.east_nm)), _r(y(mark.north_nm))
        ring = drawsvg.Group(class_="plot-station")
        ring.append(drawsvg.Circle(left, top, 6))
        ring.append(drawsvg.Circle(left, top, 1.6, class_="plot-dot"))
        drawing.append(ring)
        drawing.append(
            _label(f"{mark.ident} {mark.frequency}".strip(), left - 10, top + 16, "plot-name", "end")
        )
    begin = path.positions[0]
    drawing.append(_label("begins", x(begin.east_nm) + 6, y(begin.north_nm) + 12, "plot-note"))
    _places(drawing, [(x(each.at.east_nm), y(each.at.north_nm), each) for each in path.places])
    return _text_of(drawing)


def profile_svg(path: FlownPath) -> str:
    """The altitude over the time of the session, with the altitude that the drill wants at each moment."""
    positions = path.positions
    height = 260.0
    start, end = positions[0].at_seconds, max(positions[-1].at_seconds, positions[0].at_seconds + 1.0)
    altitudes = [each.altitude_feet for each in positions] + [each.altitude_feet for each in path.limits]
    low, high = _padded(altitudes, 250.0)
    low = max(low, 0.0)

    def x(seconds: float) -> float:
        return LEFT + (seconds - start) / (end - start) * (WIDTH - LEFT - RIGHT)

    def y(feet: float) -> float:
        return TOP + (high - feet) / (high - low) * (height - TOP - BOTTOM)

    lowest = min(positions, key=lambda each: each.altitude_feet)
    limits = ", then ".join(f"{each.kind} {each.altitude_feet:,.0f}" for each in path.limits)
    described = (
        f"Altitude over time. Limits in feet: {limits or 'none'}. The lowest point is "
        f"{lowest.altitude_feet:,.0f} feet at {clock(lowest.at_seconds)}. {_counted(path.places)}"
    )
    drawing = _drawing(height, "profile", "Vertical profile", described)
    marks = [(x(v * 60.0), f"{v:g}") for v in ticks(start / 60.0, end / 60.0)]
    _across(drawing, height, marks, "minutes of the session")
    _up(drawing, [(y(v), f"{v:,.0f}") for v in ticks(low, high)], "feet")
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
            drawing.append(_label(text, right - 3, y(limit.altitude_feet) + 13, "plot-note", "end"))
            labels.append((right - 40, y(limit.altitude_feet) + 13))
    for stretch in path.stretches:
        line = [(x(p.at_seconds), y(p.altitude_feet)) for p in _thinned(stretch)]
        drawing.append(_line(line, "plot-path"))
    _places(
        drawing, [(x(each.at.at_seconds), y(each.at.altitude_feet), each) for each in path.places], labels
    )
    return _text_of(drawing)


def ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Round numbers within two others: steps of 1, 2 or 5 times a power of ten, roughly `about` of them."""
    if not (math.isfinite(low) and math.isfinite(high) and high > low):
        return []
    raw = (high - low) / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= raw)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(number * step, 9) + 0.0 for number in range(first, last + 1)]


class _Description(drawsvg.Title):  # type: ignore[misc]
    TAG_NAME = "desc"


def _drawing(height: float, name: str, title: str, described: str) -> drawsvg.Drawing:
    drawing = drawsvg.Drawing(
        WIDTH,
        round(height, 1),
        id_prefix=f"{name}-",
        class_="plot",
        role="img",
        aria_labelledby=f"{name}-title {name}-desc",
    )
    drawing.append(drawsvg.Title(title, id=f"{name}-title"))
    drawing.append(_Description(plain(described), id=f"{name}-desc"))
    return drawing


def _text_of(drawing: drawsvg.Drawing) -> str:
    text: str = drawing.as_svg(header="", skip_js=True, skip_css=True)
    return text


def _across(drawing: drawsvg.Drawing, height: float, marks: Iterable[tuple[float, str]], title: str) -> None:
    """The grid's upright lines, their numbers below, and what they count."""
    for x, text in marks:
        drawing.append(drawsvg.Line(_r(x), TOP, _r(x), _r(height - BOTTOM), class_="plot-grid"))
        drawing.append(_label(text, x, height - BOTTOM + 14, "plot-tick", "middle"))
    drawing.append(_label(title, (LEFT + WIDTH - RIGHT) / 2, height - 4, "plot-axis", "middle"))


def _up(drawing: drawsvg.Drawing, marks: Iterable[tuple[float, str]], title: str) -> None:
    """The grid's level lines, their numbers at the left, and what they count above them."""
    for y, text in marks:
        drawing.append(drawsvg.Line(LEFT, _r(y), WIDTH - RIGHT, _r(y), class_="plot-grid"))
        drawing.append(_label(text, LEFT - 5, y + 4, "plot-tick", "end"))
    drawing.append(_label(title, 2, 10, "plot-axis"))


def _label(text: str, x: float, y: float, name: str, anchor: str = "start") -> drawsvg.Text:
    return drawsvg.Text(plain(text), None, _r(x), _r(y), text_anchor=anchor, class_=name)


def _line(points: Sequence[tuple[float, float]], name: str) -> drawsvg.Path:
    path = drawsvg.Path(class_=name)
    path.M(*map(_r, points[0]))
    for x, y in points[1:]:
        path.L(_r(x), _r(y))
    return path


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
            mark.append(drawsvg.Circle(_r(x), _r(y), 3.2))
        else:
            right = x < WIDTH - 60
            label_y = _free(x, y, taken)
            mark.append(drawsvg.Line(_r(x), _r(y), _r(x + (13 if right else -13)), _r(label_y - 4)))
            mark.append(drawsvg.Rectangle(_r(x - 4.5), _r(y - 4.5), 9, 9))
            text = f"{SIGNS[worth]} {call.number}"
            mark.append(_label(text, x + (15 if right else -15), label_y, "", "start" if right else "end"))
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


def _r(value: float) -> float:
    return round(value, 1)
