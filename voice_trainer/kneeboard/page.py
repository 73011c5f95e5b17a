"""The card as one page for a screen: no network, readable on a phone, printable."""

from __future__ import annotations

from pathlib import Path as FilePath

import drawsvg
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from voice_trainer.kneeboard.views import Dot, Label, Path, View
from voice_trainer.procedures.card import Card

_TEMPLATES = FilePath(__file__).parent / "templates"


def card_page(card: Card, views: tuple[View, ...], proof: str) -> str:
    """The HTML of a card. Everything that comes from a file is escaped."""
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    drawings = [(view, svg_of(view)) for view in views]
    return environment.get_template("card.html").render(card=card, drawings=drawings, proof=proof)


def svg_of(view: View) -> str:
    """A view as SVG text, without dates and random names: the same view gives the same bytes."""
    drawing = drawsvg.Drawing(view.width, view.height)
    for shape in view.shapes:
        match shape:
            case Path(points=points, style=style):
                flat = [number for point in points for number in (round(point[0], 1), round(point[1], 1))]
                drawing.append(drawsvg.Lines(*flat, close=False, fill="none", class_=style))
            case Dot(x=x, y=y, label=label, is_navaid=is_navaid):
                name = "navaid" if is_navaid else "step"
                radius = 4 if is_navaid else 2.5
                drawing.append(drawsvg.Circle(round(x, 1), round(y, 1), radius, class_=name))
                drawing.append(drawsvg.Text(label, 10, round(x + 5, 1), round(y - 4, 1), class_=name))
            case Label(x=x, y=y, text=text, anchor=anchor):
                drawing.append(drawsvg.Text(text, 9, round(x, 1), round(y, 1), text_anchor=anchor))
    svg = str(drawing.as_svg())
    return svg[svg.index("<svg") :]
