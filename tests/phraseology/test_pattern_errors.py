"""What is wrong with a pattern, and exactly where."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.phraseology.pattern import PatternError, compile_pattern

ERRORS = [
    ("", 1, 1, "the pattern is empty"),
    ("   ", 1, 1, "the pattern is empty"),
    ("turn [left", 1, 6, "'[' is not closed: ']' is missing"),
    ("turn (left | right", 1, 6, "'(' is not closed: ')' is missing"),
    ("turn left]", 1, 10, "']' closes nothing"),
    ("turn (left]", 1, 11, "']' does not close '(': ')' is missing"),
    ("turn ((left)", 1, 6, "'(' is not closed"),
    ("turn ()", 1, 7, "empty brackets"),
    ("turn [ ] left", 1, 8, "empty brackets"),
    ("turn (left | )", 1, 14, "an empty choice"),
    ("turn ( | left)", 1, 8, "an empty choice"),
    ("turn left | right", 1, 11, "'|' stands between choices in brackets only"),
    ("turn {headng: 095}", 1, 7, "there is no slot type 'headng': did you mean heading"),
    ("turn { heading : 95 }", 1, 18, "'95' is no heading: write three digits, 001 to 360"),
    ("turn {heading: 095", 1, 6, "'{' is not closed"),
    ("turn {heading: {heading: 095}", 1, 6, "'{' is not closed"),
    ("turn heading 095}", 1, 14, "write figures as a slot"),
    ("turn heading}", 1, 13, "'}' closes nothing"),
    ("turn {}", 1, 7, "a slot needs a type"),
    ("turn {: 095}", 1, 7, "a slot needs a type"),
    ("turn {heading:}", 1, 15, "'' is no heading"),
    ("turn left, please", 1, 10, "',' is not spoken"),
    ("cross-check", 1, 6, "'-' is not spoken"),
    ("time\n not\n  required.", 3, 11, "'.' is not spoken"),
    ("{callsign} roger", 1, 2, "{callsign} needs a value"),
    ("[left]", 1, 1, "every part of this pattern may be left unsaid"),
    ("not", 1, 1, "every part of this pattern may be left unsaid"),
    ("time [not] required", 1, 6, "'not' alone can't be optional"),
    ("uh", 1, 1, "the pattern is empty"),
    ("go " + "[" * 60 + "a" + "]" * 60, 1, 54, "brackets are nested deeper than 50"),
]


@pytest.mark.parametrize(("text", "line", "column", "reason"), ERRORS)
def test_where_and_what(text: str, line: int, column: int, reason: str) -> None:
    with pytest.raises(PatternError) as caught:
        compile_pattern(text)
    error = caught.value
    assert error.reason.startswith(reason)
    assert (error.line, error.column) == (line, column)
    assert str(error) == f"line {line}, column {column}: {error.reason}"
    assert "\n" not in str(error)


def test_places_count_from_where_the_text_stands_in_its_file() -> None:
    with pytest.raises(PatternError) as first_line:
        compile_pattern("turn left]", line=7, column=12)
    assert (first_line.value.line, first_line.value.column) == (7, 21)
    with pytest.raises(PatternError) as second_line:
        compile_pattern("turn\nleft]", line=7, column=12)
    assert (second_line.value.line, second_line.value.column) == (8, 5)


SYNONYMS = [
    (
        {"turn left": ["turn right"]},
        "'turn right' can't be a synonym of 'turn left': left and right are opposites",
    ),
    ({"climb": ["go down", "descending"]}, "'descending' can't be a synonym of 'climb'"),
    (
        {"required": ["not needed"]},
        "'not needed' can't be a synonym of 'required': only one of them says 'not'",
    ),
    ({"turn": ["..."]}, "'...', a synonym of 'turn', has no words"),
    ({"": ["turn"]}, "the synonym '' has no words"),
    ({"two": ["three"]}, "'three' can't be a synonym of 'two'"),
]


@pytest.mark.parametrize(("synonyms", "reason"), SYNONYMS)
def test_a_synonym_never_crosses_opposites(synonyms: dict[str, list[str]], reason: str) -> None:
    with pytest.raises(PatternError) as caught:
        compile_pattern("turn left", synonyms=synonyms, line=4, column=2)
    assert caught.value.reason.startswith(reason)
    assert (caught.value.line, caught.value.column) == (4, 2)


@given(st.text(max_size=40) | st.text(alphabet="ab {}[]()|:095\nleftnothdg", max_size=40))
def test_any_text_is_a_pattern_or_a_pattern_error(text: str) -> None:
    with contextlib.suppress(PatternError):
        pattern = compile_pattern(text)
        assert compile_pattern(pattern.text).node == pattern.node
        assert pattern.match(()) is None
