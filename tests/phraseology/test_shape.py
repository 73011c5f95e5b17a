"""Patterns to look at: no value, and no side of an opposite, can be read off."""

from __future__ import annotations

import pytest

from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.phraseology.shape import shape_of


@pytest.mark.parametrize(
    ("pattern", "shape"),
    [
        ("turn right [heading] {heading: 333}", "turn <left/right> [heading] <heading>"),
        ("time not required", "time [not] required"),
        ("(set | twist) [course] {course: 333}", "(set | twist) [course] <course>"),
        ("[maintain | level] {altitude: 2600}", "[maintain | level] <altitude>"),
        ("{callsign: Heron 24} ready", "<callsign> ready"),
        ("gear (up | down)", "gear <up/down>"),
    ],
)
def test_a_shape_shows_the_wording_and_no_value(pattern: str, shape: str) -> None:
    compiled = compile_pattern(pattern)
    assert shape_of(compiled.opened().node) == shape
    assert shape_of(compiled.node) == shape
