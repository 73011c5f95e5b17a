"""The network of words against the slow, obvious enumeration of a node's sentences."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.recognition.phrases import grammar
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word
from voice_trainer.recognition.rivals import rivals_of
from voice_trainer.recognition.word_network import compile_node

WORDS = ("a", "b", "c")

nodes = st.recursive(
    st.sampled_from(WORDS).map(Word),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda parts: Sequence(tuple(parts))),
        st.lists(inner, min_size=1, max_size=3).map(lambda options: Choice(tuple(options))),
        inner.map(Maybe),
    ),
    max_leaves=8,
)


def sentences(node: Node) -> set[tuple[str, ...]]:
    match node:
        case Word(text):
            return {(text,)}
        case Sequence(parts):
            return {sum(each, ()) for each in product(*map(sentences, parts))}
        case Choice(options):
            return set().union(*map(sentences, options))
        case Maybe(part):
            return {(), *sentences(part)}
    raise AssertionError(node)


@given(nodes, st.lists(st.sampled_from(WORDS), max_size=6).map(tuple))
def test_the_network_has_the_nodes_sentences_and_no_others(node, words):
    network = compile_node(node)
    expected = sentences(node)
    assert all(network.accepts(sentence) for sentence in expected)
    assert network.accepts(words) == (words in expected)


@given(nodes)
def test_no_two_states_are_alike(node):
    network = compile_node(node)
    alike = {(state in network.final, tuple(sorted(arcs.items()))) for state, arcs in enumerate(network.arcs)}
    assert len(alike) == len(network.arcs)


def test_a_slot_must_have_been_expanded():
    with pytest.raises(ValueError, match="heading"):
        compile_node(Slot("heading", "heading", None))


@given(nodes, st.data())
def test_rivals_are_other_sentences_of_the_network(node, data):
    network = compile_node(node)
    sentence = data.draw(st.sampled_from(sorted(sentences(node))))
    rivals = rivals_of(network, sentence)
    assert sentence not in rivals
    assert len(set(rivals)) == len(rivals)
    assert all(network.accepts(rival) for rival in rivals)
    # Every sentence with one word changed is among them.
    near = {
        other
        for other in sentences(node)
        if len(other) == len(sentence) and sum(x != y for x, y in zip(other, sentence, strict=True)) == 1
    }
    assert near <= set(rivals)


@pytest.mark.parametrize(
    ("said", "rival"),
    [
        ("turn left heading two eight four", "turn right heading two eight four"),
        ("turn left heading two eight four", "turn left heading two four eight"),
        ("turn left heading two eight four", "turn left heading two nine four"),
        ("climb and maintain four thousand five hundred", "climb and maintain five thousand four hundred"),
        ("climb and maintain four thousand five hundred", "climb and maintain four thousand"),
        ("climb and maintain three thousand", "climb and maintain three thousand five hundred"),
        ("pitot heat on", "pitot heat off"),
        ("landing gear down", "landing gear up"),
        ("timer started", "timer stopped"),
        ("roger", "wilco"),
    ],
)
def test_the_mistakes_that_matter_are_rivals(said, rival):
    assert tuple(rival.split()) in rivals_of(compile_node(grammar().node()), said.split())
