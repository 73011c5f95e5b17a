"""The token automaton against the word automaton that it unfolds, and against every sentence's tokens written out."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.drills.domain import domain_of
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Word
from voice_trainer.phraseology.word_automaton import WordAutomaton
from voice_trainer.recognition.likelihood.model_files import model_folder
from voice_trainer.recognition.likelihood.tokeniser import BLANK, Tokeniser, read_pieces
from voice_trainer.recognition.likelihood.writing import Place, Words, Writing

TOKENISER = Tokeniser(read_pieces(model_folder() / "tokenizer.bin"))

WORDS = ("six", "sixty", "sixteen", "head", "heading", "torv", "torvinny", "kelda", "keldan", "d", "dme", "a")
"""Many begin as others do, and some are several pieces."""

words = st.sampled_from(WORDS)
nodes: st.SearchStrategy[Node] = st.recursive(
    words.map(Word),
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: Sequence(tuple(parts))),
        st.lists(inner, min_size=1, max_size=3).map(lambda options: Choice(tuple(options))),
        inner.map(Maybe),
    ),
    max_leaves=8,
)


def tokens_of(sentence: Words) -> tuple[int, ...]:
    """As the model was taught to write it."""
    return tuple(token for word in sentence for token in TOKENISER.encode(BLANK + word))


def walked(writing: Writing, tokens: tuple[int, ...]) -> Place | None:
    place: Place | None = writing.start
    for token in tokens:
        place = writing.behind(place, token) if place is not None else None
    return place


def holds_the_same(automaton: WordAutomaton, sentence: Words) -> None:
    place = walked(Writing(automaton, TOKENISER), tokens_of(sentence))
    state = automaton.walk(automaton.start, sentence)
    assert (place is not None and place.may_end) == automaton.accepts(sentence)
    if sentence:
        assert (place is not None and place.is_word_over) == (state is not None)


@given(nodes, st.booleans(), st.lists(words, max_size=5))
def test_it_accepts_the_tokens_of_any_words_as_the_word_automaton_does_the_words(
    node: Node, repeats: bool, sentence: list[str]
) -> None:
    automaton = (
        WordAutomaton(node, repeats=True)
        if repeats
        else WordAutomaton(Sequence((Word("a"), node)), repeats=False)
    )
    holds_the_same(automaton, tuple(sentence))


@given(nodes, st.data())
def test_it_accepts_every_sentence_and_what_is_nearly_one(node: Node, data: st.DataObject) -> None:
    automaton = WordAutomaton(node, repeats=True)
    sentence: list[str] = []
    state = automaton.start
    for _ in range(data.draw(st.integers(0, 6))):
        following = automaton.following(state)
        if not following:
            break
        word = data.draw(st.sampled_from(sorted(following)))
        sentence.append(word)
        state = following[word]
        holds_the_same(automaton, tuple(sentence))
    if sentence:
        at = data.draw(st.integers(0, len(sentence) - 1))
        holds_the_same(automaton, (*sentence[:at], data.draw(words), *sentence[at + 1 :]))
        holds_the_same(automaton, (*sentence[:at], *sentence[at + 1 :]))


@given(nodes)
def test_the_tokens_that_may_come_next_are_those_of_the_sentences(node: Node) -> None:
    """Every three words that begin a sentence are written out, and what comes behind those of two is counted up."""
    automaton = WordAutomaton(node, repeats=True)
    writing = Writing(automaton, TOKENISER)
    begun = {
        tokens_of(sentence): sentence
        for count in range(4)
        for sentence in product(automaton.vocabulary, repeat=count)
        if automaton.walk(automaton.start, sentence) is not None
    }
    following: dict[tuple[int, ...], set[int]] = {}
    for tokens in begun:
        for at, token in enumerate(tokens):
            following.setdefault(tokens[:at], set()).add(token)
    short = [tokens for tokens, sentence in begun.items() if len(sentence) < 3]
    for written in {tokens[:count] for tokens in short for count in range(len(tokens) + 1)}:
        place = walked(writing, written)
        assert place is not None
        assert place.tokens.tolist() == sorted(following.get(written, ()))
        assert place.is_word_over == (written in begun and written != ())
        assert place.may_end == (written in begun and automaton.accepts(begun[written]))


def test_what_is_not_a_whole_word_is_no_end() -> None:
    writing = Writing(WordAutomaton(Choice((Word("torvinny"), Word("torv"))), repeats=True), TOKENISER)
    tokens = tokens_of(("torvinny",))
    assert len(tokens) > 2
    for count in range(1, len(tokens)):
        place = walked(writing, tokens[:count])
        assert place is not None
        is_torv = tokens[:count] == tokens_of(("torv",))
        assert (place.may_end, place.is_word_over) == (is_torv, is_torv)
    last = walked(writing, tokens)
    assert last is not None and last.may_end and last.is_word_over


def test_nothing_goes_on_from_a_token_that_may_not_come() -> None:
    writing = Writing(WordAutomaton(Word("heading"), repeats=True), TOKENISER)
    (gear, *_) = tokens_of(("gear",))
    assert writing.behind(writing.start, gear) is None
    assert not writing.start.may_end


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(builtin_drills()))
def test_no_two_words_of_a_drill_are_written_alike_and_each_can_be_read_back(name: str) -> None:
    vocabulary = domain_of(find_drill(name)).sentences_with_illegal_values.vocabulary
    written = {word: tokens_of((word,)) for word in vocabulary}
    assert len(set(written.values())) == len(vocabulary)
    for word, tokens in written.items():
        assert TOKENISER.decode(tokens) == word
        assert TOKENISER.piece(tokens[0]).startswith(BLANK)
        assert not any(BLANK in TOKENISER.piece(token) for token in tokens[1:])
