"""Whose phraseology is spoken: the FAA's or ICAO's."""

from __future__ import annotations

from typing import Literal

Region = Literal["faa", "icao"]
"""Decides how the trainer speaks and which wording it recommends; what is understood is the same in both."""
