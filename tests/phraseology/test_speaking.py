"""Cue text as a voice is given it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.phraseology.pattern import PatternError
from voice_trainer.phraseology.slots import Region
from voice_trainer.phraseology.speaking import spoken_text

CUES: list[tuple[str, Region, str]] = [
    ("Fly heading {heading: 048}.", "faa", "Fly heading zero four eight."),
    (
        "{callsign: Heron 24}, maintain {altitude: 2,900}; altimeter {altimeter: 29.84}",
        "faa",
        "Heron two four, maintain two thousand niner hundred; altimeter two niner eight four",
    ),
    ("Contact tower, {frequency: 118.1}!", "icao", "Contact tower, one one eight decimal one!"),
    ("Flight level {level: 210}", "faa", "Flight level two one zero"),
    ("No slots: [none] (at all) | here", "faa", "No slots: [none] (at all) | here"),
    ("", "faa", ""),
]


@pytest.mark.parametrize(("text", "region", "spoken"), CUES)
def test_numbers_are_written_out(text: str, region: Region, spoken: str) -> None:
    assert spoken_text(text, region) == spoken


ERRORS = [
    ("Fly heading 048", 1, 13, "the figure '0' would be misread aloud"),
    ("Fly\nheading {heading: 48}", 2, 19, "'48' is no heading"),
    ("Fly {heading}", 1, 6, "{heading} has no value to speak"),
    ("Fly {headng: 048}", 1, 6, "there is no slot type 'headng'"),
    ("Fly {heading: 048", 1, 5, "'{' is not closed"),
    ("Fly heading}", 1, 12, "'}' closes nothing"),
]


@pytest.mark.parametrize(("text", "line", "column", "reason"), ERRORS)
def test_what_can_not_be_spoken(text: str, line: int, column: int, reason: str) -> None:
    with pytest.raises(PatternError) as caught:
        spoken_text(text)
    assert caught.value.reason.startswith(reason)
    assert (caught.value.line, caught.value.column) == (line, column)


@given(st.text(max_size=40))
def test_nothing_spoken_has_a_figure_or_a_brace(text: str) -> None:
    try:
        spoken = spoken_text(text)
    except PatternError:
        return
    assert not any(sign.isdecimal() or sign in "{}" for sign in spoken)
