"""Expressions: exact arithmetic, the functions of the trade, and one clear error for everything else."""

from __future__ import annotations

import math
import time
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.drills.expressions import DEEPEST, LONGEST, Expression, ExpressionError
from voice_trainer.drills.functions import FUNCTIONS, Value


def worth(text: str, **values: Value | int) -> Value:
    given = {name: Fraction(value) if isinstance(value, int) else value for name, value in values.items()}
    return Expression.of(text).value(given)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1 + 2 * 3", 7),
        ("(1 + 2) * 3", 9),
        ("10 - 4 - 3", 3),
        ("12 / 4 / 3", 1),
        ("--2 - -3", 5),
        ("0.1 + 0.2", Fraction(3, 10)),
        ("1 / 3 * 3", 1),
        # Reciprocals: 087 -> 267, 180 -> 360 and never 000, 360 -> 180, 005 -> 185 (180 added, recomputed by hand).
        ("reciprocal(87)", 267),
        ("reciprocal(180)", 360),
        ("reciprocal(360)", 180),
        ("reciprocal(5)", 185),
        # AIM 4-2-10: north is 360, never 000.
        ("wrap(0)", 360),
        ("wrap(360)", 360),
        ("wrap(-45)", 315),
        ("wrap(725)", 5),
        # 45/180 procedure turn, heading = outbound -/+ 45: CNATRA P-553; outbound 336, left 291 and 111.
        ("wrap(336 - 45)", 291),
        ("reciprocal(wrap(336 - 45))", 111),
        ("turn(350, 10)", 20),
        ("turn(10, 350)", -20),
        ("turn(90, 270)", 180),
        ("side(300, 333)", "right"),
        ("side(10, 350)", "left"),
        ("round(2.5)", 3),
        ("round(-2.5)", -2),
        ("round(467.5, 5)", 470),
        ("round(2.44, 0.1)", Fraction(12, 5)),
        ("abs(-3)", 3),
        ("min(3, 1, 2)", 1),
        ("max(3, 1, 2)", 3),
        # 4.2 NM at 120 knots, 2:06; 5.4 NM at 90, 3:36: 3600 d / GS, as charts' tables print it (recomputed).
        ("seconds(4.2, 120)", 126),
        ("seconds(5.4, 90)", 216),
        ("wind(45, 8)", "045/8"),
    ],
)
def test_comes_to(text: str, value: int | Fraction | str) -> None:
    assert worth(text) == value


def test_the_wind_triangle_is_that_of_the_handbook() -> None:
    """Course 090, 125 knots, wind 230 at 18: correction 5 right, 138 over the ground (a flight-computer handbook)."""
    assert worth("round(drift(90, 125, 230, 18))") == 5
    assert worth("round(groundspeed(90, 125, 230, 18))") == 138


def test_variables_have_their_values_and_may_be_called_like_functions() -> None:
    assert worth("turn + wrap(turn)", turn=400) == 440
    assert worth("which", which="left") == "left"


@pytest.mark.parametrize(
    ("text", "error", "at"),
    [
        ("", "an expression is missing after '='; write one, as in =reciprocal(course)", 0),
        ("1 +", "the expression ends too early; write the value that is missing", 3),
        ("1 + * 2", "a value is missing before '*'; write it", 4),
        ("(1 + 2", "'(' is not closed; add the closing ')'", 0),
        ("1 + 2)", "')' does not belong here; it closes nothing: delete it", 5),
        ("course 2", "'2' does not belong here; write + - * or / before it, or delete it", 7),
        ("2 ^ 3", "'^' means nothing here; write numbers, variables, + - * / and brackets", 2),
        ("2 ** 3", "a value is missing before '*'; write it", 3),
        ("course.real", "'.' means nothing here; write numbers, variables, + - * / and brackets", 6),
        ("'x'", '"\'" means nothing here; write numbers, variables, + - * / and brackets', 0),
        ("__import__(1)", "there is no function '__import__'; there are reciprocal, wrap", 0),
        ("reciprocol(1)", "there is no function 'reciprocol'; did you mean reciprocal?", 0),
        ("reciprocal()", "'reciprocal' can't have 0 values; write reciprocal(course)", 0),
        ("wrap(1, 2)", "'wrap' can't have 2 values; write wrap(degrees), into 001 to 360", 0),
        ("Course", "'Course' can't be a variable; use small letters, digits and underscores", 0),
        ("1234567890123", "'1234567890123' is too long for a number; write up to 12 figures", 0),
        ("cuorse + 1", "there is no variable 'cuorse' here; did you mean course?", 0),
        ("reciprocal + 1", "there is no variable 'reciprocal' here; write reciprocal(course)", 0),
        ("1 / (course - course)", "this divides by zero; check the values below the '/'", 2),
        ("99999999 * 99999999", "this comes to more than 1,000,000,000; no value of the trade does", 9),
        ("word + 1", "nothing can be computed with the text 'left'; give numbers without quotes", 0),
        ("wrap(word)", "nothing can be computed with the text 'left'; give numbers without quotes", 0),
        ("side(10, 190)", "from 10 to 190 no way is shorter; draw the values so that this can't happen", 0),
        (
            "seconds(1, 0)",
            "a leg can't be timed at 0 knots over the ground; give a groundspeed above zero",
            0,
        ),
        ("round(1, 0)", "nothing is rounded to multiples of 0; give a number above zero", 0),
        ("drift(1, 60, 90, 90)", "course 001 at 60 knots, wind 090 at 90", 0),
        ("1" + "+1" * LONGEST, f"the expression is longer than {LONGEST} characters; compute a part", 0),
        ("(" * 17 + "1" + ")" * 17, f"brackets and signs are nested deeper than {DEEPEST}; compute", 16),
        ("-" * 17 + "1", f"brackets and signs are nested deeper than {DEEPEST}; compute", 16),
    ],
)
def test_what_can_t_be_worked_out_says_why_and_where(text: str, error: str, at: int) -> None:
    with pytest.raises(ExpressionError) as caught:
        worth(text, course=10, word="left")
    assert str(caught.value).startswith(error)
    assert caught.value.at == at


def test_fractions_do_not_grow_without_end() -> None:
    values: dict[str, Value] = {"a": Fraction(1, 7919)}
    with pytest.raises(ExpressionError, match="too many decimals; round it on the way"):
        Expression.of("a * a * a * a * a").value(values)


@given(st.integers(-10_000, 10_000))
def test_a_wrapped_direction_is_one_and_a_reciprocal_comes_back(degrees: int) -> None:
    wrapped = worth("wrap(d)", d=degrees)
    assert isinstance(wrapped, Fraction)
    assert 0 < wrapped <= 360
    assert math.isclose(math.sin(math.radians(wrapped)), math.sin(math.radians(degrees)), abs_tol=1e-9)
    assert worth("reciprocal(reciprocal(d))", d=degrees) == wrapped


@given(
    st.recursive(
        st.integers(0, 999).map(str),
        lambda inner: st.tuples(inner, st.sampled_from("+-*"), inner).map(lambda x: f"({x[0]} {x[1]}{x[2]})"),
        max_leaves=12,
    )
)
def test_arithmetic_is_python_s(text: str) -> None:
    try:
        found = worth(text)
    except ExpressionError as error:
        assert "comes to more than" in str(error) or "deeper" in str(error) or "longer" in str(error)
    else:
        assert found == eval(text)  # the digits and signs above, and nothing else


@given(st.lists(st.sampled_from([*"()+-*/,.= 0189", *FUNCTIONS, "course", "é", "\n", "{", "'"]), max_size=60))
def test_any_text_is_an_expression_or_one_line(parts: list[str]) -> None:
    began = time.process_time()
    try:
        worth("".join(parts), course=333)
    except ExpressionError as error:
        assert 0 <= error.at <= len("".join(parts))
        assert "\n" not in str(error)
    assert time.process_time() - began < 1


@pytest.mark.parametrize(
    ("heading", "turns", "entry"),
    [
        # Sectors of a hold inbound 090, by the heading at the fix: Navy P-821, P-801; AIM 5-3-8.
        *((heading, 1, "direct") for heading in (45, 90, 180)),
        *((heading, 1, "teardrop") for heading in (230, 264)),
        *((heading, 1, "parallel") for heading in (300, 360)),
        *((heading, -1, "direct") for heading in (360, 90)),
        (300, -1, "teardrop"),
        *((heading, -1, "parallel") for heading in (200, 230)),
    ],
)
def test_the_entry_of_a_hold(heading: int, turns: int, entry: str) -> None:
    assert Expression.of(f"entry({heading}, 90, 0 + {turns})".replace("+ -", "- ")).value({}) == entry


@pytest.mark.parametrize("heading", [15, 20, 25, 195, 200, 205, 265, 270, 275])
def test_between_two_entries_of_a_hold_neither_is_asked_for(heading: int) -> None:
    with pytest.raises(ExpressionError, match="within 5 degrees of two entries; draw"):
        Expression.of(f"entry({heading}, 90, 1)").value({})
