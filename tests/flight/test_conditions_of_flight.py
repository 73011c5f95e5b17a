"""The words for flight events."""

from __future__ import annotations

import pytest

from voice_trainer.flight.conditions import Condition, ConditionError, matches, parse_condition


@pytest.mark.parametrize(
    ("text", "kind", "argument"),
    [
        ("passage KLD", "passage", "KLD"),
        ("nearing KLD", "nearing", "KLD"),
        ("wings level", "wings level", None),
        ("wings level 333", "wings level", "333"),
        ("wings level 360", "wings level", "360"),
        ("clock 1:00", "clock", "1:00"),
        ("clock 0:45", "clock", "0:45"),
        ("level", "level", None),
        ("level 2600", "level", "2600"),
        ("passing 2900", "passing", "2900"),
        ("established 153", "established", "153"),
        ("passage TARNE", "passage", "TARNE"),
        ("abeam KLD", "abeam", "KLD"),
        ("needle alive 153", "needle alive", "153"),
        ("distance 10.0 KLD", "distance", "10.0 KLD"),
        ("distance 7 KLD", "distance", "7 KLD"),
        ("radial 087 KLD", "radial", "087 KLD"),
        ("within 1000 of 3000", "within", "1000 of 3000"),
        ("minimums alert", "minimums alert", None),
        ("too fast", "too fast", None),
        ("below lowest", "below lowest", None),
        ("outside area", "outside area", None),
    ],
)
def test_known_conditions(text: str, kind: str, argument: str | None) -> None:
    assert parse_condition(text) == Condition(kind, argument)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("overhead KLD", "'overhead KLD' is no condition; they begin with: passage, nearing, wings level"),
        ("", "'' is no condition"),
        ("levels 2600", "is no condition"),
        ("passage", "after 'passage' comes an ident such as KLD"),
        ("passage kld", "an ident such as KLD"),
        ("passage  KLD", "an ident such as KLD"),
        ("wings level 000", "001 to 360"),
        ("wings level 361", "001 to 360"),
        ("wings level 33", "three digits of a heading"),
        ("wings level ", "three digits of a heading"),
        ("clock", "a reading such as 1:00"),
        ("clock 60", "a reading such as 1:00"),
        ("clock 0:00", "0:00 is where the clock starts"),
        ("level 2,600", "an altitude in feet such as 2600"),
        ("passing", "an altitude in feet such as 2900"),
        ("passing 0290", "an altitude in feet such as 2900"),
        ("established", "three digits of a course"),
        ("abeam", "an ident such as KLD"),
        ("needle alive", "three digits of a course"),
        ("distance 10.0", "miles and an ident such as 10.0 KLD"),
        ("distance ten KLD", "miles and an ident such as 10.0 KLD"),
        ("radial 87 KLD", "three digits of a radial and an ident"),
        ("radial 000 KLD", "three digits of a radial and an ident"),
        ("within 1000", "feet and an altitude such as 1000 of 3000"),
        ("too fast 180", "after 'too fast' comes nothing more"),
        ("below lowest 1800", "after 'below lowest' comes nothing more"),
        ("established 153 inbound", "three digits of a course"),
    ],
)
def test_what_is_no_condition_says_why(text: str, reason: str) -> None:
    with pytest.raises(ConditionError) as caught:
        parse_condition(text)
    assert reason in str(caught.value)
    assert isinstance(caught.value, ValueError)


@pytest.mark.parametrize(
    ("condition", "event", "met"),
    [
        ("wings level", "wings level 333", True),
        ("wings level 333", "wings level 333", True),
        ("wings level 33", "wings level 333", False),
        ("wings level 333", "wings level 153", False),
        ("level", "level 2600", True),
        ("level", "wings level 333", False),
        ("level 2600", "level 26000", False),
        ("passage KLD", "passage KLD", True),
        ("passage KLD", "passage", False),
        ("distance 10.0 KLD", "distance 10.0 KLD", True),
        ("distance 1 KLD", "distance 10.0 KLD", False),
        ("", "passage KLD", False),
    ],
)
def test_a_condition_waits_for_whatever_begins_with_its_words(condition: str, event: str, met: bool) -> None:
    assert matches(condition, event) is met
