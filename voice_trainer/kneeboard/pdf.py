"""The card as a PDF of A5 pages, for a kneeboard."""

from __future__ import annotations

from datetime import UTC, datetime

from fpdf import FPDF
from fpdf.enums import XPos, YPos

from voice_trainer.kneeboard.views import Dot, Label, Path, View
from voice_trainer.procedures.card import Card, CardStep

A5_MM = (148.0, 210.0)
MARGIN_MM = 9.0
NO_DATE = datetime(2000, 1, 1, tzinfo=UTC)
"""A PDF has a date; ours depends on nothing but the card."""

GENERATOR = "voice_trainer card"
"""The file says that it is one of ours (`outputs.kinds`)."""

POINT_MM = 0.3528


def card_pdf(card: Card, views: tuple[View, ...], proof: str) -> bytes:
    """The bytes of the PDF; the same card gives the same bytes."""
    pdf = FPDF(format=A5_MM)
    pdf.set_creation_date(NO_DATE)
    pdf.set_creator(GENERATOR)
    pdf.set_title(_plain(card.title))
    pdf.set_margins(MARGIN_MM, MARGIN_MM)
    pdf.set_auto_page_break(True, MARGIN_MM)
    pdf.add_page()
    _line(pdf, card.title, size=14, bold=True)
    _line(pdf, "; ".join(f"{what}: {much}" for what, much in card.facts), size=8)
    for view in views:
        _draw(pdf, view)
    for number, step in enumerate(card.steps, start=1):
        _step(pdf, number, step)
    pdf.ln(3)
    _line(pdf, f"Flown in rehearsal: {proof}", size=8)
    for line in card.cautions:
        _line(pdf, line, size=7)
    return bytes(pdf.output())


def _step(pdf: FPDF, number: int, step: CardStep) -> None:
    # A step's title stays with its first call.
    if pdf.will_page_break(16):
        pdf.add_page()
    pdf.ln(1.5)
    event = f" ({step.event})" if step.event else ""
    _line(pdf, f"{number}. {step.name}{event}", size=9, bold=True)
    if step.cue:
        _line(pdf, step.cue, size=8)
    for call in step.calls:
        _line(pdf, call.said, size=9, bold=True, indent=4)
        if call.because:
            _line(pdf, call.because, size=7.5, indent=8)


def _line(pdf: FPDF, text: str, *, size: float, bold: bool = False, indent: float = 0.0) -> None:
    pdf.set_font("helvetica", "B" if bold else "", size)
    pdf.set_x(MARGIN_MM + indent)
    pdf.multi_cell(0, size * POINT_MM * 1.3, _plain(text), new_x=XPos.LMARGIN, new_y=YPos.NEXT)


def _draw(pdf: FPDF, view: View) -> None:
    unit = (pdf.epw * 0.78) / view.width
    if pdf.will_page_break(view.height * unit + 6):
        pdf.add_page()
    left, top = MARGIN_MM + pdf.epw * 0.11, pdf.get_y() + 2

    def at(x: float, y: float) -> tuple[float, float]:
        return left + x * unit, top + y * unit

    for shape in view.shapes:
        match shape:
            case Path(points=points, style=style):
                pdf.set_line_width(0.45 if style == "flown" else 0.2)
                pdf.set_draw_color(0 if style != "grid" else 170)
                if style == "limit":
                    pdf.set_dash_pattern(1.2, 0.8)
                pdf.polyline([at(*point) for point in points])
                pdf.set_dash_pattern()
            case Dot(x=x, y=y, label=label, is_navaid=is_navaid):
                place = at(x, y)
                radius = 1.1 if is_navaid else 0.6
                pdf.set_draw_color(0)
                pdf.set_fill_color(0)
                pdf.circle(*place, radius, style="D" if is_navaid else "F")
                pdf.set_font("helvetica", "B" if is_navaid else "", 7)
                pdf.text(place[0] + 1.2, place[1] - 1, _plain(label))
            case Label(x=x, y=y, text=text, anchor=anchor):
                pdf.set_font("helvetica", "", 6.5)
                wide = pdf.get_string_width(_plain(text))
                shift = {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
                pdf.text(at(x, y)[0] - shift, at(x, y)[1], _plain(text))
    pdf.set_y(top + view.height * unit + 2)


def _plain(text: str) -> str:
    """The text in the letters that the built-in fonts have; others become question marks."""
    return text.replace("…", "...").encode("latin-1", errors="replace").decode("latin-1")
