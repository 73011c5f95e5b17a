"""Patterns: what matches, with which slots, and what differs from the expectation."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from legal_values import DIRECTIONS

from voice_trainer.phraseology.nodes import Choice, Maybe, Sequence, Slot, Word
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.pattern import Difference, Match, Pattern, compile_pattern


def heard(pattern: Pattern, said: str) -> dict[str, str] | None:
    match = pattern.match(normalise(said))
    return None if match is None else match.slots


def test_the_nodes_of_a_pattern() -> None:
    pattern = compile_pattern("turn left [to] (heading | course) {heading: 095}")
    assert pattern.node == Sequence(
        (
            Word("turn"),
            Slot("left/right", "left/right", "left"),
            Maybe(Word("to")),
            Choice((Word("heading"), Word("course"))),
            Slot("heading", "heading", "095"),
        )
    )
    assert pattern.expected == {"left/right": "left", "heading": "095"}


def test_a_pattern_opened() -> None:
    pattern = compile_pattern("turn left heading {heading: 095}")
    assert pattern.opened().text == pattern.phrase == "turn {left/right} heading {heading}"
    assert pattern.opened().opened() is pattern.opened()
    assert pattern.opened().expected == {}
    assert compile_pattern("turn right heading {heading: 270}").opened() == pattern.opened()


def test_what_a_pattern_says() -> None:
    pattern = compile_pattern("turn left [to] (heading | course) {heading: 095} [at {altitude: 2,600}]")
    full = "turn left to heading zero niner five at two thousand six hundred"
    assert pattern.spoken() == tuple(full.split())
    assert pattern.brief() == ("turn", "left", "heading", "zero", "niner", "five")


def test_what_is_spoken_depends_on_the_region() -> None:
    text = "runway {runway: 9} tower {frequency: 118.1}"
    assert compile_pattern(text).spoken() == (
        "runway",
        "niner",
        "tower",
        "one",
        "one",
        "eight",
        "point",
        "one",
    )
    assert compile_pattern(text, region="icao").spoken() == (
        "runway",
        "zero",
        "niner",
        "tower",
        "one",
        "one",
        "eight",
        "decimal",
        "one",
    )


def test_a_match_says_where_the_slots_stand() -> None:
    pattern = compile_pattern("turn left heading {heading: 333}")
    assert pattern.match(["turn", "right", "heading", "three", "thirty", "three"]) == Match(
        {"left/right": "right", "heading": "333"},
        ("grouped digits: say three three three",),
        {"left/right": (1, 2), "heading": (3, 6)},
    )


NO_MATCH = [
    "",
    "turn left heading",
    "turn left heading three three three please",
    "turn heading three three three",
    "turn left heading three three",
    "turn left heading three seven zero",
    "turn around heading three three three",
]


@pytest.mark.parametrize("said", NO_MATCH)
def test_words_that_are_not_all_of_the_phrase_do_not_match(said: str) -> None:
    assert compile_pattern("turn left heading {heading: 333}").match(said.split()) is None


def test_two_slots_of_a_type_have_two_keys() -> None:
    pattern = compile_pattern("leaving {altitude: 4000} for {altitude: 2600}")
    assert pattern.expected == {"altitude": "4000", "altitude 2": "2600"}
    slots = heard(pattern, "leaving 4,000 for 2,700")
    assert slots == {"altitude": "4000", "altitude 2": "2700"}
    assert pattern.differences(slots) == (Difference("altitude 2", "altitude", "2600", "2700"),)


def test_an_optional_slot_that_is_not_said_is_no_difference() -> None:
    pattern = compile_pattern("descending [to {altitude: 2600}]")
    assert heard(pattern, "descending") == {"climbing/descending": "descending"}
    assert pattern.differences({"climbing/descending": "descending"}) == ()
    slots = heard(pattern, "descending to two thousand five hundred")
    assert slots is not None
    assert [each.heard for each in pattern.differences(slots)] == ["2500"]


def test_a_slot_that_must_be_said_and_is_not_is_a_difference() -> None:
    pattern = compile_pattern("heading {heading: 095}")
    assert pattern.differences({}) == (Difference("heading", "heading", "095", None),)


def test_an_open_slot_expects_nothing() -> None:
    pattern = compile_pattern("heading {heading}")
    assert pattern.expected == {}
    assert heard(pattern, "heading 123") == {"heading": "123"}
    assert pattern.differences({"heading": "123"}) == ()


CHOICES = [
    # Either word order has the same keys, and a swapped word is a difference in both.
    ("(turn left | left turn)", "left turn", []),
    ("(turn left | left turn)", "turn left", []),
    ("(turn left | left turn)", "right turn", ["right"]),
    ("(turn left | turn around)", "turn around", []),
    ("(turn left | turn around)", "turn right", ["right"]),
    # Where the author allows both sides, both are right.
    ("turn (left | right)", "turn right", []),
    ("contact (tower | ground)", "contact ground", []),
    ("contact (tower | ground)", "contact approach", ["approach"]),
    ("(no turn | turn not required | turn negative)", "no turn", []),
    ("(no turn | turn not required | turn negative)", "turn not required", []),
    ("(no turn | turn not required | turn negative)", "turn required", ["not said"]),
    ("(no turn | turn not required | turn negative)", "turn negative", []),
    ("(no turn | turn not required | turn negative)", "turn affirmative", ["affirmative"]),
    ("(heading {heading: 095} | zero)", "heading 096", ["096"]),
    ("({heading: 095} | {heading: 100}) now", "one zero zero now", []),
]


@pytest.mark.parametrize(("text", "said", "wrong"), CHOICES)
def test_of_a_choice_the_option_that_fits_best_counts(text: str, said: str, wrong: list[str]) -> None:
    pattern = compile_pattern(text)
    slots = heard(pattern, said)
    assert slots is not None
    assert [each.heard for each in pattern.differences(slots)] == wrong


def test_keys_go_on_behind_a_choice() -> None:
    pattern = compile_pattern("(left then right | right) then left")
    assert list(pattern.expected) == ["left/right", "left/right 2", "left/right 3"]


def test_a_not_is_heard_whether_it_is_said_or_not() -> None:
    pattern = compile_pattern("time not required")
    assert pattern.phrase == "time {not} required"
    assert heard(pattern, "time not required") == {"not": "not"}
    slots = heard(pattern, "time required")
    assert slots == {"not": "not said"}
    assert pattern.differences(slots) == (Difference("not", "not", "not", "not said"),)


def test_synonyms_are_choices_with_the_written_words_first() -> None:
    pattern = compile_pattern(
        "turn left to {heading: 095}", synonyms={"turn left": ["coming left", "left turn"], "to": ["heading"]}
    )
    assert pattern.text == "(turn left | coming left | left turn) (to | heading) {heading: 095}"
    assert pattern.spoken()[:3] == ("turn", "left", "to")
    slots = heard(pattern, "coming right heading 095")
    assert slots is not None
    assert [each.heard for each in pattern.differences(slots)] == ["right"]


def test_the_longest_synonym_wins_and_is_not_replaced_again() -> None:
    pattern = compile_pattern("set power", synonyms={"set": ["make"], "set power": ["set torque"]})
    assert pattern.text == "(set power | set torque)"


def test_the_author_may_write_any_spelling_the_normaliser_knows() -> None:
    assert compile_pattern("Alpha X ray d m e").node == compile_pattern("alfa xray dme").node


def test_a_callsign_is_open_in_its_number_only() -> None:
    pattern = compile_pattern("{callsign: Heron 24} going around")
    assert pattern.phrase == "{callsign heron} going around"
    assert heard(pattern, "Heron two five going around") == {"callsign": "Heron 25"}
    assert heard(pattern, "Osprey two four going around") is None
    assert compile_pattern("{callsign: November 123AB} roger").phrase == "{callsign november+} roger"


WRITTEN = [
    "turn left heading {heading: 095}",
    "[to] maintain {altitude: 2600}",
    "(a | b c | [d] e) f",
    "time not required",
    "{callsign: Heron 24} contact tower {frequency: 118.025}",
    "[cowl flaps open | closed] check",
    "hold {duration: 1:15} one hundred above",
]


@pytest.mark.parametrize("text", WRITTEN)
def test_rendering_compiles_to_itself(text: str) -> None:
    pattern = compile_pattern(text)
    assert compile_pattern(pattern.text) == pattern
    assert compile_pattern(pattern.phrase) == pattern.opened()


def test_white_space_and_superfluous_brackets_do_not_matter() -> None:
    assert compile_pattern(" turn\n  ( left )\t(heading) ").text == "turn left heading"


@given(st.sampled_from(DIRECTIONS), st.sampled_from(DIRECTIONS))
def test_what_is_heard_does_not_depend_on_what_is_expected(expected: str, said: str) -> None:
    pattern = compile_pattern(f"turn left heading {{heading: {expected}}}")
    slots = heard(pattern, f"turn left heading {said}")
    assert slots == {"left/right": "left", "heading": said}
    assert bool(pattern.differences(slots)) == (said != expected)


WORDS = st.sampled_from(["turn", "left", "not", "heading", "tower", "two", "gear"])
SLOTS = st.sampled_from(
    ["{heading: 095}", "{altitude: 2600}", "{duration: 1:15}", "{speed}", "{letters: KLD}"]
)
PATTERNS = st.recursive(
    WORDS | SLOTS,
    lambda inner: (
        st.lists(inner, min_size=1, max_size=3).map(" ".join)
        | st.lists(inner, min_size=2, max_size=3).map(lambda options: f"({' | '.join(options)})")
        | inner.map(lambda part: f"[gear {part}]")
    ),
    max_leaves=8,
).map(lambda text: f"say {text}")


@given(PATTERNS)
def test_a_pattern_matches_what_it_says_without_differences(text: str) -> None:
    pattern = compile_pattern(text.replace("{speed}", "{speed: 150}"))
    for spoken in (pattern.spoken(), pattern.brief()):
        match = pattern.match(normalise(" ".join(spoken)))
        assert match is not None
        assert compile_pattern(pattern.text) == pattern
        assert compile_pattern(pattern.phrase) == pattern.opened()


def test_deeply_optional_patterns_are_read_in_no_time() -> None:
    nested = "gear"
    for _ in range(40):
        nested = f"[{nested}] [gear]"
    pattern = compile_pattern(f"{nested} down")
    assert pattern.match(("gear",) * 41 + ("down",)) is not None
    assert pattern.match(("gear",) * 42 + ("down",)) is None
    assert pattern.match(("gear",) * 200) is None
