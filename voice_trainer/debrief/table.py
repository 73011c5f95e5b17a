"""The calls of a debrief as comma-separated values (RFC 4180), one row a call, for a spreadsheet."""

from __future__ import annotations

import csv
import io
from typing import Final

from voice_trainer.debrief.document import CallResult, Document

COLUMNS: Final = (
    "debrief_schema",
    "session",
    "drill",
    "number",
    "step",
    "flow",
    "call",
    "need",
    "verdict",
    "points",
    "held",
    "expected",
    "said",
    "reason",
    "because",
    "window_opens_seconds",
    "window_closes_seconds",
    "onset_seconds",
    "late_seconds",
    "corrected",
    "remarks",
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_of(document: Document) -> str:
    """A header line, then a row for each call. Null is an empty cell, remarks are joined by '; '."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for call in document.calls:
        writer.writerow([_cell(document, call, column) for column in COLUMNS])
    return out.getvalue()


def _cell(document: Document, call: CallResult, column: str) -> str:
    match column:
        case "debrief_schema":
            return str(document.debrief_schema)
        case "session":
            return _text(document.session)
        case "drill":
            return _text(document.drill.drill)
        case "remarks":
            return _text("; ".join(call.remarks))
    value = getattr(call, column)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}" if column == "points" else f"{value:.3f}"
    return "" if value is None else _text(str(value))


def _text(text: str) -> str:
    """A cell that a spreadsheet takes for text: what would begin a formula gets an apostrophe before it (OWASP, CSV
    injection), and what is said may be anything."""
    return f"'{text}" if text.startswith(_FORMULA) else text
