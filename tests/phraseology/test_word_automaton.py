"""The word automaton holds exactly the sentences of its nodes, one or more in a row."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word
from voice_trainer.phraseology.word_automaton import WordAutomaton

WORDS = st.sampled_from(["climb", "and", "maintain"]).map(Word)
NODES = st.recursive(
    WORDS,
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: Sequence(tuple(parts))),
        st.lists(inner, min_size=1, max_size=3).map(lambda options: Choice(tuple(options))),
        inner.map(Maybe),
    ),
    max_leaves=6,
)


def sentences(node: Node) -> Iterator[tuple[str, ...]]:
    """Every sentence of a node, listed one by one."""
    match node:
        case Word(text):
            yield (text,)
        case Sequence(parts):
            for chosen in product(*(list(sentences(part)) for part in parts)):
                yield tuple(word for words in chosen for word in words)
        case Choice(options):
            for option in options:
                yield from sentences(option)
        case Maybe(part):
            yield ()
            yield from sentences(part)
        case Slot():
            raise AssertionError


@given(NODES, st.lists(st.sampled_from(["climb", "and", "maintain"]), min_size=1, max_size=5))
def test_it_accepts_what_is_one_or_more_listed_sentences(node: Node, words: list[str]) -> None:
    listed = set(sentences(node)) - {()}

    def in_a_row(rest: tuple[str, ...]) -> bool:
        return not rest or any(
            rest[: len(sentence)] == sentence and in_a_row(rest[len(sentence) :]) for sentence in listed
        )

    assert WordAutomaton(node, repeats=True).accepts(words) == in_a_row(tuple(words))


@given(NODES, st.lists(st.sampled_from(["climb", "and", "maintain"]), max_size=5))
def test_without_repeats_it_accepts_what_is_listed(node: Node, words: list[str]) -> None:
    assert WordAutomaton(node, repeats=False).accepts(words) == (tuple(words) in set(sentences(node)))


@given(NODES, st.lists(st.sampled_from(["climb", "and", "maintain"]), min_size=1, max_size=5))
def test_words_may_grow_where_some_sentence_is_longer(node: Node, words: list[str]) -> None:
    automaton = WordAutomaton(node, repeats=False)
    state = automaton.walk(automaton.start, words)
    longer = any(len(each) > len(words) and each[: len(words)] == tuple(words) for each in sentences(node))
    assert (state is not None and automaton.may_grow(state)) == longer


def test_a_node_with_a_slot_is_refused() -> None:
    with pytest.raises(ValueError, match="'heading' has not been expanded"):
        WordAutomaton(Slot("heading", "heading", None), repeats=True)


def test_a_word_that_can_only_be_of_the_next_phrase_begins_one() -> None:
    automaton = WordAutomaton(
        Choice((Sequence((Word("gear"), Word("down"), Maybe(Word("checked")))), Word("flaps"))), repeats=True
    )
    down = automaton.walk(automaton.start, ("gear", "down"))
    assert down is not None
    assert automaton.begins_phrase(down, "flaps")
    assert not automaton.begins_phrase(down, "checked")
    assert not automaton.begins_phrase(automaton.start, "flaps")
