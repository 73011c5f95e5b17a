"""What plots are drawn with, as SVG text for a page.

drawsvg writes the SVG, and escapes what is put into it. Colours are classes that the page's style sheet paints, so a
plot follows the page into the dark and onto paper; a chart library that writes its colours into every path can't. The
same plot gives the same bytes: there are no dates, and no random identifiers.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import drawsvg

from voice_trainer.pages.plain_text import plain


@dataclass(frozen=True, slots=True)
class Frame:
    """A plot's size and the room around what is plotted, in its own units; the page makes it as wide as it can."""

    width: float
    height: float
    left: float = 46.0
    right: float = 14.0
    top: float = 16.0
    bottom: float = 34.0

    @property
    def inner_width(self) -> float:
        """Between the left and the right edge of what is plotted."""
        return self.width - self.left - self.right

    @property
    def inner_height(self) -> float:
        """Between the upper and the lower edge of what is plotted."""
        return self.height - self.top - self.bottom

    @property
    def floor(self) -> float:
        """Where the lower edge is."""
        return self.height - self.bottom


class _Description(drawsvg.Title):  # type: ignore[misc]
    TAG_NAME = "desc"


def drawing_of(frame: Frame, name: str, title: str, described: str) -> drawsvg.Drawing:
    """An empty plot, to which a screen reader gives `title` and `described`; `name` is unique on its page."""
    drawing = drawsvg.Drawing(
        frame.width,
        round(frame.height, 1),
        id_prefix=f"{name}-",
        class_="plot",
        role="img",
        aria_labelledby=f"{name}-title {name}-desc",
    )
    drawing.append(drawsvg.Title(plain(title), id=f"{name}-title"))
    drawing.append(_Description(plain(described), id=f"{name}-desc"))
    return drawing


def svg_text(drawing: drawsvg.Drawing) -> str:
    """The SVG, without what a page has no use for."""
    text: str = drawing.as_svg(header="", skip_js=True, skip_css=True)
    return text.replace("<defs>\n</defs>\n", "")


def mark_across(
    drawing: drawsvg.Drawing, frame: Frame, marks: Iterable[tuple[float, str]], title: str
) -> None:
    """The grid's upright lines, their numbers below, and what they count."""
    for x, text in marks:
        drawing.append(drawsvg.Line(tenth(x), frame.top, tenth(x), tenth(frame.floor), class_="plot-grid"))
        drawing.append(label(text, x, frame.floor + 14, "plot-tick", "middle"))
    if title:
        drawing.append(
            label(title, frame.left + frame.inner_width / 2, frame.height - 4, "plot-axis", "middle")
        )


def mark_up(drawing: drawsvg.Drawing, frame: Frame, marks: Iterable[tuple[float, str]], title: str) -> None:
    """The grid's level lines, their numbers at the left, and what they count above them."""
    for y, text in marks:
        drawing.append(
            drawsvg.Line(frame.left, tenth(y), frame.width - frame.right, tenth(y), class_="plot-grid")
        )
        drawing.append(label(text, frame.left - 5, y + 4, "plot-tick", "end"))
    if title:
        drawing.append(label(title, 2, 10, "plot-axis"))


def label(text: str, x: float, y: float, name: str, anchor: str = "start") -> drawsvg.Text:
    """Text in a plot, of a class."""
    return drawsvg.Text(plain(text), None, tenth(x), tenth(y), text_anchor=anchor, class_=name)


def line(points: Sequence[tuple[float, float]], name: str) -> drawsvg.Path:
    """A line through points, of a class."""
    path = drawsvg.Path(class_=name)
    path.M(*map(tenth, points[0]))
    for x, y in points[1:]:
        path.L(tenth(x), tenth(y))
    return path


def ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Round numbers within two others: steps of 1, 2 or 5 times a power of ten, roughly `about` of them."""
    if not (math.isfinite(low) and math.isfinite(high) and high > low):
        return []
    raw = (high - low) / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= raw)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(number * step, 9) + 0.0 for number in range(first, last + 1)]


def tenth(value: float) -> float:
    """A tenth of a unit is finer than a pixel."""
    return round(value, 1)
