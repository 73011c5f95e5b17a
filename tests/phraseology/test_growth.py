"""What may still become something else: by example, and against a slow oracle that tries every longer sentence."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.drills.domain import domain_of
from voice_trainer.library.builtin import everything, find_drill
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.normaliser import normalise, normalise_words
from voice_trainer.phraseology.pattern import compile_pattern

PATTERNS = (
    "turn (left | right) heading {heading: 310}",
    "turn left",
    "descend and maintain {altitude: 2600} [until established]",
    "Heron two four",
    "{callsign: Heron 24} established inbound",
    "gear down [and locked]",
    "expect (the | a) turn [at {altitude: 3000}]",
    "flaps {flap: 10} [degrees]",
    "correction",
)


def grammar(*patterns: str) -> Grammar:
    return Grammar(Phrase(compile_pattern(text), "call") for text in patterns)


DRILL = grammar(*PATTERNS)


@pytest.mark.parametrize(
    "said",
    [
        "turn",
        "turn left",  # ... heading three one zero
        "turn left heading",
        "turn left heading three",
        "descend",
        "descend and maintain two",
        "descend and maintain two thousand",
        "heron two",
        "heron",
        "expect the turn at",
        "expect the turn",  # a value may follow that need not
        "gear down, turn left heading three one",
        "nobody said this, turn",
    ],
)
def test_a_value_and_a_call_that_are_not_over_may_grow(said: str) -> None:
    assert DRILL.may_grow(normalise(said))


@pytest.mark.parametrize(
    ("call", "after", "grown"),
    [
        ("descend and maintain two thousand", "six hundred", True),
        ("gear down", "and", True),  # ... locked: a tail as far as it goes
        ("heron two", "four", True),
        ("turn left heading two eight zero", "gear down", False),
        ("gear down", "turn left heading", False),
        ("gear down", "nobody says so", False),
    ],
)
def test_a_call_grows_only_by_words_of_its_own(call: str, after: str, grown: bool) -> None:
    first = normalise(call)
    assert DRILL.first_reaches_over([*first, *normalise(after)], len(first)) == grown


def test_a_call_is_not_cut_anew_to_find_another_in_it() -> None:
    """'288 set' is a call as well, and reaches over the joint; but 'turn left 288' was one already."""
    own = grammar("turn left [heading] {heading: 284}", "turn left", "{heading: 284} set")
    words = normalise("turn left two eight eight set")
    assert own.reaches_over(words, 5)
    assert not own.first_reaches_over(words, 5)


@pytest.mark.parametrize(
    "said",
    [
        "turn left heading three one zero",
        "gear down",  # 'and locked' says nothing more
        "gear down and locked",
        "descend and maintain two thousand six hundred fifty",
        "descend and maintain two thousand six hundred fifty until established",
        "heron two four, established inbound",
        "nobody says so",
        "",
    ],
)
def test_a_call_that_is_over_does_not_grow_nor_does_a_tail_without_a_value(said: str) -> None:
    assert not DRILL.may_grow(normalise(said))


def test_what_is_only_said_at_more_length_is_no_growth() -> None:
    slow = grammar("slow to {speed: 110} [knots]")
    assert not slow.may_grow(normalise("slow to one one zero"))
    assert slow.may_grow(normalise("slow to one one"))


LITTLE = ("a b", "a b c", "b [c]", "c {count: 2}", "{count: 2} a [{count: 3}]")
WORDS = ("a", "b", "c", "two", "three")


@given(
    st.lists(st.sampled_from(WORDS), max_size=5).map(tuple),
    st.lists(st.sampled_from(LITTLE), min_size=1, max_size=4),
)
def test_growth_is_a_longer_phrase_of_another_meaning(said: tuple[str, ...], patterns: list[str]) -> None:
    """Every continuation by one to three words is tried: one phrase must reach from the words into it."""
    small = grammar(*patterns)
    if not said or any(piece.kind == "other" for pieces in small.read(said) for piece in pieces):
        return  # of words that are nobody's the oracle below knows nothing

    def means(words: tuple[str, ...], first: int) -> set[tuple[str, tuple[tuple[str, str], ...]]]:
        found = ((p.pattern.text, p.pattern.match(words[first:])) for p in small.phrases)
        return {(text, tuple(sorted(match.slots.items()))) for text, match in found if match is not None}

    starts = {piece.first for pieces in small.read(said) for piece in pieces}
    grows = any(
        means((*said, *more), first) - means(said, first)
        for first in starts
        for length in (1, 2, 3)
        for more in itertools.product(WORDS, repeat=length)
        # A longer phrase of the same text and values is a tail that says nothing more.
        if means((*said, *more), first)
    )
    assert small.may_grow(said) == grows


def test_no_call_of_the_library_is_over_before_its_last_value() -> None:
    """Whoever pauses before a value, or in it, is in the middle of the call."""
    for name in ("kelda-outbound", "brannock-clearance", "holding-clearance", "kelda-vor-15"):
        assert name in everything()
        drill = find_drill(name)
        domain = domain_of(drill)
        for step in drill.steps:
            for call in step.flow.calls if step.flow else ():
                pattern = drill.pattern(call)
                words = tuple(word for word, _ in normalise_words(pattern.spoken()))
                match = pattern.match(words)
                if call.need == "forbidden":  # it has no value of its own
                    continue
                assert match is not None, words
                for said in range(1, max((end for _, end in match.slot_words.values()), default=1)):
                    so_far = pattern.match(words[:said])
                    if (
                        so_far is None or so_far.slots != match.slots
                    ):  # '... eight seconds' is over at 'eight'
                        assert domain.may_grow(words[:said]), words[:said]
