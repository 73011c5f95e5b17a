"""Words that must never be taken for each other."""

from __future__ import annotations

import pytest

from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.opposites import FAMILIES, FIXED_TERMS, TYPES, opposed, type_of_word
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.phraseology.slots import slot_type

SWAPPED = [
    # pattern, what is said instead, slot, expected, heard. Common practice.
    ("turn left", "turn right", "left/right", "left", "right"),
    ("climb to {altitude: 3000}", "descend to three thousand", "climb/descend", "climb", "descend"),
    ("descending", "climbing", "climbing/descending", "descending", "climbing"),
    ("descending", "climb", "climbing/descending", "descending", "climbing"),
    ("established inbound", "established outbound", "inbound/outbound", "inbound", "outbound"),
    ("boost pump on", "boost pump off", "on/off", "on", "off"),
    ("gear down", "gear up", "up/down", "down", "up"),
    ("cowl flaps open", "cowl flaps closed", "open/closed", "open", "closed"),
    ("cowl flaps closed", "cowl flaps open", "open/closed", "closed", "open"),
    ("close the valve", "open the valve", "open/close", "close", "open"),
    ("mixture rich", "mixture lean", "rich/lean", "rich", "lean"),
    ("mixture cut off", "mixture idle", "idle/cutoff", "cutoff", "idle"),
    ("contact tower", "contact approach", "facility", "tower", "approach"),
    ("fuel pump", "fuel selector", "pump/selector", "pump", "selector"),
    ("start the clock", "stop the clock", "start/stop", "start", "stop"),
    ("below glide slope", "above glide slope", "above/below", "below", "above"),
    ("affirmative", "negative", "affirmative/negative", "affirmative", "negative"),
    ("time not required", "time required", "not", "not", "not said"),
    ("one hundred to go", "two hundred to go", "digit", "one", "two"),
    ("one hundred to go", "one thousand to go", "hundred/thousand", "hundred", "thousand"),
    ("flaps fifteen", "flaps fifty", "ten", "fifteen", "fifty"),
    ("information alpha", "information bravo", "letter", "alfa", "bravo"),
]


@pytest.mark.parametrize(("text", "said", "key", "expected", "heard"), SWAPPED)
def test_the_opposite_is_heard_as_easily_and_is_a_difference(
    text: str, said: str, key: str, expected: str, heard: str
) -> None:
    pattern = compile_pattern(text)
    right = pattern.match(normalise(" ".join(pattern.spoken())))
    assert right is not None
    assert pattern.differences(right.slots) == ()
    wrong = pattern.match(normalise(said))
    assert wrong is not None
    assert [(each.key, each.expected, each.heard) for each in pattern.differences(wrong.slots)] == [
        (key, expected, heard)
    ]


SAME = [
    ("descending to {altitude: 2600}", "descend to two thousand six hundred"),
    ("cowl flaps closed", "cowl flaps close"),
    ("starting clock", "start clock"),
    ("affirmative", "affirm"),
]


@pytest.mark.parametrize(("text", "said"), SAME)
def test_another_inflection_is_the_same_side(text: str, said: str) -> None:
    pattern = compile_pattern(text)
    match = pattern.match(normalise(said))
    assert match is not None
    assert pattern.differences(match.slots) == ()


@pytest.mark.parametrize("term", FIXED_TERMS, ids=" ".join)
def test_a_fixed_term_has_no_opposite(term: tuple[str, ...]) -> None:
    pattern = compile_pattern(" ".join(term))
    assert pattern.expected == {}
    assert pattern.match(term) is not None


def test_a_word_belongs_to_one_family_only() -> None:
    families = [{word for row in family for word in row} for family in FAMILIES]
    for at, family in enumerate(families):
        assert not any(family & other for other in families[at + 1 :])


@pytest.mark.parametrize("name", sorted(name for name in TYPES if "/" in name))
def test_every_word_of_a_set_is_in_the_language_of_every_row(name: str) -> None:
    kind = slot_type(name)
    for word in name.split("/"):
        assert kind.value((word,)) == (word, ())
        assert kind.words(word) == (word,)
        assert kind.canonical(word) == word


def test_opposed() -> None:
    assert opposed("left", "right")
    assert opposed("climb", "descending")
    assert not opposed("descend", "descending")
    assert not opposed("left", "left")
    assert not opposed("left", "down")
    assert not opposed("heading", "right")


def test_a_word_without_an_opposite() -> None:
    assert type_of_word("heading") is None
    assert type_of_word("left") == "left/right"


def test_not_may_be_silence() -> None:
    assert slot_type("not").value(()) == ("not said", ())
    assert slot_type("not").words("not said") == ()
