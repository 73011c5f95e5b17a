"""What was said over the nearest right reading of a call: what is right is not marked, of a value what differs."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.phraseology.legal_values import LEGAL_VALUES
from tests.right_readings import right_readings, wordings
from voice_trainer.library.builtin import everything, find_drill
from voice_trainer.phraseology.comparison import compared, unmarked
from voice_trainer.phraseology.forms import sentences
from voice_trainer.phraseology.nearest_wording import nearest_wording
from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.pattern import Pattern, compile_pattern
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.word_edits import WordEdit, word_edits


def shown(edits: tuple[WordEdit, ...]) -> tuple[str, str]:
    """Both lines, a marked word in capitals, '-' where there is none."""

    def line(words: list[tuple[str | None, bool]]) -> str:
        return " ".join("-" if word is None else word.upper() if marked else word for word, marked in words)

    return line([(each.expected, each.marked) for each in edits]), line(
        [(each.said, each.marked) for each in edits]
    )


EXAMPLES = [
    # Other right readings: optional words, synonyms, and other forms of the same value.
    ("[descend] [and] maintain {altitude: 2900}", "maintain 2,900", "maintain two thousand nine hundred", "="),
    ("[descend] [and] maintain {altitude: 2900}", "maintain twenty niner hundred feet",
     "maintain twenty nine hundred feet", "="),
    ("turn left [heading] {heading: 333}", "turn left tree thirty-three", "turn left three thirty three", "="),
    ("(final approach fix | f a f) [inbound]", "f a f", "f a f", "="),
    # The value's words, and within them what differs, in the form in which it was said.
    ("altimeter {altimeter: 29.84}", "altimeter 29.48",
     "altimeter two nine point EIGHT FOUR", "altimeter two nine point FOUR EIGHT"),
    ("altimeter {altimeter: 29.84}", "altimeter two niner four eight",
     "altimeter two nine EIGHT FOUR", "altimeter two nine FOUR EIGHT"),
    ("altimeter {altimeter: 29.84}", "altimeter twenty nine forty eight",
     "altimeter twenty nine EIGHTY FOUR", "altimeter twenty nine FORTY EIGHT"),
    ("turn left [heading] {heading: 333}", "turn left 330",
     "turn left three three THREE", "turn left three three ZERO"),
    ("turn left [heading] {heading: 333}", "turn left three thirty",
     "turn left three thirty THREE", "turn left three thirty -"),
    ("maintain {altitude: 2000}", "maintain 2,600", "maintain two thousand - -", "maintain two thousand SIX HUNDRED"),
    ("time {duration: 1:30}", "time two minutes thirty", "time ONE minute thirty", "time TWO minutes thirty"),
    ("wind {wind: 240/18}", "wind 240 at 18 gusting 28",
     "wind two four zero at one eight - - -", "wind two four zero at one eight GUSTING TWO EIGHT"),
    # An opposite, 'not', a part that is left out, and what no call begins with.
    ("turn left [heading] {heading: 333}", "turn right heading 333",
     "turn LEFT heading three three three", "turn RIGHT heading three three three"),
    ("climb {altitude: 3000}", "descending 3000", "CLIMBING three zero zero zero", "DESCENDING three zero zero zero"),
    ("time not required", "time required", "time NOT required", "time - required"),
    ("(report | call) established [on the localizer]", "established", "REPORT established", "- established"),
    ("turn left [heading] {heading: 333}", "so turn left, uh, the banana heading 333",
     "- turn left - - heading three three three", "so turn left the BANANA heading three three three"),
    ("heading {heading: 333}", "heading four five zero", "heading THREE THREE THREE", "heading FOUR FIVE ZERO"),
    # What was taken back stands where it was said, and is no mistake.
    ("turn left [heading] {heading: 333}", "turn left 330 correction 333",
     "turn left - - - - three three three", "turn left three three zero correction three three three"),
    ("turn left [heading] {heading: 333}", "turn left 330 correction turn left 331",
     "- - - - - - turn left three three THREE", "turn left three three zero correction turn left three three ONE"),
    ("turn left heading {heading: 333} maintain {altitude: 3000}", "turn left heading 330 maintain 3,000 heading 331",
     "turn left heading - - - maintain three thousand - three three THREE",
     "turn left heading three three zero maintain three thousand heading three three ONE"),
]  # fmt: skip


@pytest.mark.parametrize(("pattern", "said", "expected_line", "said_line"), EXAMPLES)
def test_what_is_meant_is_compared(pattern: str, said: str, expected_line: str, said_line: str) -> None:
    over = expected_line if said_line == "=" else said_line
    if said_line == "=":
        expected_line = over = " ".join(normalise(expected_line))
    assert shown(compared(compile_pattern(pattern), normalise(said))) == (expected_line, over)


def test_declared_synonyms_are_the_call() -> None:
    pattern = compile_pattern("turn left {heading: 333}", synonyms={"turn": ["turning", "coming"]})
    assert not any(each.marked for each in compared(pattern, normalise("coming left 333")))


def test_nothing_said_has_no_comparison_of_its_own() -> None:
    assert all(each.said is None for each in compared(compile_pattern("gear down"), ()))
    assert unmarked(compile_pattern("gear down"), ()) == ()


NAMES = sorted(everything())


@cache
def patterns_of(name: str) -> tuple[Pattern, ...]:
    drill = find_drill(name)
    return tuple(drill.pattern(call) for step in drill.steps if step.flow for call in step.flow.calls)


@pytest.mark.parametrize("name", NAMES)
def test_no_right_reading_of_any_call_of_the_library_is_marked(name: str) -> None:
    patterns = patterns_of(name)

    @given(st.data())
    @settings(max_examples=4, suppress_health_check=[HealthCheck.too_slow])
    def marks_nothing(data: st.DataObject) -> None:
        for pattern in patterns:
            said = data.draw(right_readings(pattern.node))
            edits = compared(pattern, said)
            assert (
                edits == unmarked(pattern, said) == tuple(WordEdit(word, word, marked=False) for word in said)
            )

    marks_nothing()


@pytest.mark.parametrize("name", NAMES)
def test_of_a_wrong_value_nothing_else_is_marked_and_the_lines_are_both_readings(name: str) -> None:
    patterns = [each for each in patterns_of(name) if each.expected]

    @given(st.data())
    @settings(max_examples=3, suppress_health_check=[HealthCheck.too_slow])
    def marks_the_value(data: st.DataObject) -> None:
        for pattern in patterns:
            key = data.draw(st.sampled_from(sorted(pattern.expected)))
            value = data.draw(st.sampled_from(others(pattern, key)))
            wrong = pattern.with_values({key: value})
            said = data.draw(right_readings(wrong.node))
            edits = compared(pattern, said)
            over = tuple(each.expected for each in edits if each.expected is not None)
            assert tuple(each.said for each in edits if each.said is not None) == said
            match = pattern.match(over)
            assert match is not None and not pattern.differences(match.slots), over
            heard = pattern.match(said)
            assert heard is not None
            differing = {each.key for each in pattern.differences(heard.slots)}
            values = {
                place
                for slot, (first, end) in heard.slot_words.items()
                if slot in differing
                for place in range(first, end)
            }
            marks = [each.marked for each in edits if each.said is not None]
            assert {place for place, marked in enumerate(marks) if marked} <= values
            # Where the part that holds this value was not said, nothing is wrong.
            assert any(each.marked for each in edits) == bool(differing)

    marks_the_value()


def others(pattern: Pattern, key: str) -> list[str]:
    """Other legal values of a slot."""
    slot = next(each for each in slots_of(pattern.node) if each.key == key and each.value is not None)
    kind = slot_type(slot.type)
    if slot.type in LEGAL_VALUES:
        return [each for each in LEGAL_VALUES[slot.type][:500] if each != slot.value]
    assert kind.form is not None
    if "/" in slot.type or slot.type in ("not", "digit", "ten", "letter", "facility", "hold entry"):
        return sorted({understood.text for _, understood in sentences(kind.form)} - {slot.value})
    if slot.type.startswith("callsign "):
        return [
            f"{pattern.expected[key].rpartition(' ')[0]} {tail}"
            for tail in ("7", "31", "407")
            if not str(slot.value).endswith(tail)
        ]
    assert slot.type.startswith("fix "), slot.type
    return [each for each in ("BK", "ZZZZZ", "TOV") if each != slot.value]


DIGIT_BY_DIGIT = (
    "heading",
    "course",
    "radial",
    "bearing",
    "level",
    "altimeter",
    "qnh",
    "squawk",
    "time",
    "minimums",
)


@pytest.mark.parametrize("name", DIGIT_BY_DIGIT)
def test_of_two_values_exactly_the_digits_that_differ_are_marked(name: str) -> None:
    legal = [each for each in LEGAL_VALUES[name] if ":" not in each]
    pattern = compile_pattern(f"now {{{name}: {legal[0]}}}")
    known = set(legal)

    @given(st.sampled_from(legal), st.data())
    @settings(max_examples=40)
    def marks_digits(value: str, data: st.DataObject) -> None:
        places = [at for at, each in enumerate(value) if each.isdigit()]
        changed = data.draw(st.sets(st.sampled_from(places), min_size=1))
        figures = [
            data.draw(st.sampled_from("0123456789")) if at in changed else each
            for at, each in enumerate(value)
        ]
        said = "".join(figures)
        if said not in known:
            return
        words = normalise(" ".join(slot_type(name).words(said)))
        edits = compared(pattern.with_values({name: value}), ("now", *words))
        digits = [(value[at], said[at]) for at in places]
        assert [each.marked for each in edits] == [False, *(one != other for one, other in digits)]

    marks_digits()


@pytest.mark.parametrize(("value", "said"), [("0601", "1060"), ("1060", "0601"), ("1234", "4123")])
def test_a_value_that_is_shifted_by_a_digit_is_held_against_the_other_place_by_place(
    value: str, said: str
) -> None:
    """Not one digit left out, and one added: so few differences would be those of no value at all."""
    words = normalise(" ".join(slot_type("squawk").words(said)))
    edits = compared(compile_pattern(f"now {{squawk: {value}}}"), ("now", *words))
    assert [each.marked for each in edits] == [False, True, True, True, True]


@pytest.mark.parametrize("name", [each for each in LEGAL_VALUES if not each.startswith("fix ")])
def test_the_nearest_wording_is_one_of_the_value_and_none_is_nearer_than_the_same(name: str) -> None:
    @given(st.sampled_from(LEGAL_VALUES[name]), st.sampled_from(LEGAL_VALUES[name]), st.data())
    @settings(max_examples=20)
    def is_a_wording(value: str, other: str, data: st.DataObject) -> None:
        said = data.draw(st.sampled_from(wordings(name, other)))
        assert nearest_wording(name, value, said, "faa") in wordings(name, value)
        own = data.draw(st.sampled_from(wordings(name, value)))
        assert not any(each.marked for each in word_edits(nearest_wording(name, value, own, "faa"), own))

    is_a_wording()


WORDS = st.lists(
    st.sampled_from(
        (
            "zero",
            "one",
            "two",
            "nine",
            "thirty",
            "forty",
            "hundred",
            "point",
            "left",
            "right",
            "minute",
            "minutes",
        )
    ),
    max_size=7,
)


@given(WORDS, WORDS)
def test_two_wordings_differ_in_the_same_words_whichever_was_expected(
    one: list[str], other: list[str]
) -> None:
    there, back = word_edits(one, other), word_edits(other, one)
    assert [each.expected for each in there if each.expected is not None] == one
    assert [each.said for each in there if each.said is not None] == other
    marked = [each.expected for each in there if each.marked and each.expected is not None]
    assert marked == [each.said for each in back if each.marked and each.said is not None]


@given(WORDS)
def test_a_wording_over_itself_is_not_marked(words: list[str]) -> None:
    assert not any(each.marked for each in word_edits(words, words))
