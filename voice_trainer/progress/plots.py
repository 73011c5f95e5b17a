"""The plots of the progress page, as SVG text: a share by week, time practised by week, what comes due by day.

Every share is drawn from 0 to 100 %, so that plots can be held against each other, and nothing looks steeper than it
is. A line breaks off over weeks in which nothing was practised.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Final

import drawsvg

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
from voice_trainer.progress.wording import day_and_month, hours, long_day, percent

MEASURE: Final = Frame(320.0, 140.0, left=48.0, right=10.0, top=12.0, bottom=24.0)

WEEK: Final = timedelta(days=7)
MOST_DOTS: Final = 30
"""Weeks that are dots as well; of more, the dots would hide the line."""
MOST_MONTHS: Final = 7
FEW_WEEKS: Final = 10

ShareByWeek = Sequence[tuple[date, float | None]]


def share_svg(name: str, title: str, weeks: ShareByWeek, span: tuple[date, date]) -> str:
    """A share, 0 to 1, over the weeks (Mondays) of `span`; None where nothing counts. `name` is unique on its page."""
    frame = MEASURE
    known = [(week, share) for week, share in weeks if share is not None]

    def y(share: float) -> float:
        return frame.top + (1.0 - share) * frame.inner_height

    drawing = drawing_of(frame, name, f"{title} by week", _described(known))
    mark_up(drawing, frame, [(y(share), percent(share)) for share in (0.0, 0.5, 1.0)], "")
    _weeks_across(drawing, frame, span)
    points = [(_x(frame, span, week), y(share)) for week, share in known]
    for stretch in _stretches(known):
        if len(stretch) > 1:
            drawing.append(line([points[number] for number in stretch], "plot-share"))
    dotted = range(len(points)) if len(points) <= MOST_DOTS else [*_alone(known), len(points) - 1]
    for number in dict.fromkeys(dotted):
        x_at, y_at = points[number]
        drawing.append(drawsvg.Circle(tenth(x_at), tenth(y_at), 2.6, class_="plot-week"))
    return svg_text(drawing)


def spark_svg(weeks: ShareByWeek, span: tuple[date, date]) -> str:
    """The same without words, as small as a word: for a reader who sees, beside the figure that it belongs to."""
    frame = Frame(112.0, 26.0, left=3.0, right=3.0, top=3.0, bottom=3.0)
    drawing = drawsvg.Drawing(frame.width, frame.height, class_="spark", aria_hidden="true")
    known = [(week, share) for week, share in weeks if share is not None]
    points = [
        (_x(frame, span, week), frame.top + (1.0 - share) * frame.inner_height) for week, share in known
    ]
    drawing.append(
        drawsvg.Path(f"M{frame.left} {frame.floor}H{frame.width - frame.right}", class_="plot-grid")
    )
    for stretch in _stretches(known):
        if len(stretch) > 1:
            drawing.append(line([points[number] for number in stretch], "plot-share"))
    for number in dict.fromkeys((*_alone(known), len(points) - 1)) if points else ():
        drawing.append(
            drawsvg.Circle(tenth(points[number][0]), tenth(points[number][1]), 2.2, class_="plot-week")
        )
    return svg_text(drawing)


def time_svg(name: str, seconds_by_week: Mapping[date, float], span: tuple[date, date]) -> str:
    """How long was practised each week, as columns."""
    frame = MEASURE
    longest = max([*seconds_by_week.values(), 60.0])
    unit, unit_name = (3600.0, "h") if longest >= 2 * 3600 else (60.0, "min")
    high = longest / unit * 1.05
    most = max(seconds_by_week, key=lambda week: (seconds_by_week[week], week), default=None)
    told = f" The longest was that of {long_day(most)}: {hours(seconds_by_week[most])}." if most else ""
    described = f"{hours(sum(seconds_by_week.values()))} in {len(seconds_by_week)} weeks with practice.{told}"
    drawing = drawing_of(frame, name, "Time practised by week", described)
    marks = [
        (frame.floor - value / high * frame.inner_height, f"{value:g} {unit_name}" if value else "0")
        for value in ticks(0.0, high, 3)
    ]
    mark_up(drawing, frame, marks, "")
    _weeks_across(drawing, frame, span)
    width = max(min(24.0, frame.inner_width / (_weeks_of(span) + 1) * 0.72), 1.0)
    for week, seconds in sorted(seconds_by_week.items()):
        tall = max(seconds / unit / high * frame.inner_height, 1.0)
        drawing.append(_column(_x(frame, span, week), frame.floor, width, tall))
    return svg_text(drawing)


def forecast_svg(name: str, counts: Mapping[date, int]) -> str:
    """How many flows come due on each day, as columns with their numbers."""
    frame = Frame(440.0, 170.0, left=8.0, right=8.0, top=22.0, bottom=38.0)
    days = sorted(counts)
    told = ", ".join(f"{counts[day]} on {day:%A} {day_and_month(day)}" for day in days if counts[day])
    drawing = drawing_of(frame, name, "What comes due by day", f"Flows: {told or 'none'}.")
    room = frame.inner_width / max(len(days), 1)
    high = max([*counts.values(), 1])
    drawing.append(
        drawsvg.Line(frame.left, frame.floor, frame.width - frame.right, frame.floor, class_="plot-grid")
    )
    for number, day in enumerate(days):
        middle = frame.left + (number + 0.5) * room
        tall = counts[day] / high * frame.inner_height
        if counts[day]:
            drawing.append(_column(middle, frame.floor, room * 0.6, max(tall, 2.0)))
            drawing.append(label(str(counts[day]), middle, frame.floor - tall - 5, "plot-count", "middle"))
        is_first = number == 0 or day.day == 1
        drawing.append(label(f"{day:%a}"[:2], middle, frame.floor + 14, "plot-tick", "middle"))
        drawing.append(
            label(str(day.day), middle, frame.floor + 29, "plot-day" if is_first else "plot-tick", "middle")
        )
    return svg_text(drawing)


def _described(known: Sequence[tuple[date, float]]) -> str:
    """What a reader who does not see the line should know of it."""
    if not known:
        return "Nothing counts yet."
    first, last = known[0], known[-1]
    if len(known) == 1:
        return f"{percent(last[1])} in the week of {long_day(last[0])}."
    lowest = min(known, key=lambda each: (each[1], each[0]))
    highest = max(known, key=lambda each: (each[1], each[0]))
    return (
        f"From {percent(first[1])} in the week of {long_day(first[0])} to {percent(last[1])} in that of "
        f"{long_day(last[0])}. Lowest {percent(lowest[1])}, in that of {day_and_month(lowest[0])}; highest "
        f"{percent(highest[1])}, in that of {day_and_month(highest[0])}."
    )


def _weeks_of(span: tuple[date, date]) -> int:
    return (span[1] - span[0]) // WEEK


def _x(frame: Frame, span: tuple[date, date], week: date) -> float:
    """The middle of a week's column."""
    return frame.left + ((week - span[0]) / WEEK + 0.5) / (_weeks_of(span) + 1) * frame.inner_width


def _weeks_across(drawing: drawsvg.Drawing, frame: Frame, span: tuple[date, date]) -> None:
    """Mondays where there are few weeks, else the first weeks of months; the year where it begins."""
    weeks = [span[0] + number * WEEK for number in range(_weeks_of(span) + 1)]
    if len(weeks) <= FEW_WEEKS:
        every = math.ceil(len(weeks) / 4)
        marks = [(week, f"{week.day} {week:%b}") for week in weeks[::every]]
    else:
        months = [week for week in weeks if week.day <= WEEK.days]
        every = math.ceil(len(months) / MOST_MONTHS)
        marks = [
            (week, f"{week:%b}" if week.month > 1 or every > 1 else str(week.year))
            for week in months[::every]
        ]
        if every > 2:
            marks = [(week, f"{week:%b} {week:%y}") for week, _ in marks]
    mark_across(drawing, frame, [(_x(frame, span, week), text) for week, text in marks], "")


def _stretches(known: Sequence[tuple[date, float]]) -> Iterator[list[int]]:
    """The numbers of the weeks that follow each other without a gap."""
    stretch: list[int] = []
    for number, (week, _) in enumerate(known):
        if stretch and week - known[stretch[-1]][0] > WEEK:
            yield stretch
            stretch = []
        stretch.append(number)
    if stretch:
        yield stretch


def _alone(known: Sequence[tuple[date, float]]) -> list[int]:
    """Weeks with none beside them: of a line they would leave nothing."""
    return [stretch[0] for stretch in _stretches(known) if len(stretch) == 1]


def _column(middle: float, floor: float, width: float, tall: float) -> drawsvg.Rectangle:
    return drawsvg.Rectangle(
        tenth(middle - width / 2), tenth(floor - tall), tenth(width), tenth(tall), class_="plot-column"
    )
