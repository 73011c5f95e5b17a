"""Cue text as a voice is given it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.phraseology.pattern import PatternError
from voice_trainer.phraseology.slots import Region
from voice_trainer.phraseology.speaking import read_out, spoken_text

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


@pytest.mark.parametrize(
    ("written", "spoken"),
    [
        ("333 less 45 is 288.", "three three three less forty five is two eight eight."),
        ("Flown at 2,600.", "Flown at two thousand six hundred."),
        ("Said 12000; it is 3000.", "Said one two thousand; it is three thousand."),
        ("Said 114.3; it is 29.84.", "Said one one four point three; it is two niner point eight four."),
        (
            "Begun after 9.0 seconds; 8 were allowed.",
            "Begun after niner point zero seconds; eight were allowed.",
        ),
        ("Said 2,000 ft; it is 2,600 ft.", "Said two thousand feet; it is two thousand six hundred feet."),
        ("It is read back (AIM 4-4-7b).", "It is read back."),
        ("Squawk 4271, heading 095, 10,", "Squawk four two seven one, heading zero niner five, ten,"),
        (
            "Without the callsign Heron 24 it is incomplete.",
            "Without the callsign Heron two four it is incomplete.",
        ),
    ],
)
def test_a_reason_is_read_out_without_figures_or_sources(written: str, spoken: str) -> None:
    assert read_out(written) == spoken


@given(st.text(max_size=60))
def test_no_figure_is_ever_left_to_the_voice(text: str) -> None:
    assert not any(character in "0123456789" for character in read_out(text))
